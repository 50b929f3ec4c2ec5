// What the checks in Chromium share: finding it, counting what holds, axe.

import { existsSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { delimiter, join } from "node:path";
import puppeteer from "puppeteer-core";

const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

function chromium() {
  const folders = (process.env.PATH ?? "").split(delimiter);
  const found = [process.env.CHROMIUM, ...folders.map((folder) => join(folder, "chromium"))];
  const path = found.find((candidate) => candidate && existsSync(candidate));
  if (!path) throw new Error("no chromium on the PATH: apt-get install chromium");
  return path;
}

const failures = [];
let checks = 0;
export function check(holds, what) {
  checks += 1;
  if (!holds) failures.push(what);
}

// Fails on console errors, errors of the page and requests to outside.
export function watch(page, where) {
  page.on("console", (message) => {
    if (["error", "warn"].includes(message.type())) failures.push(`${where}: console: ${message.text()}`);
  });
  page.on("pageerror", (error) => failures.push(`${where}: ${error}`));
  page.on("request", (request) => {
    const address = request.url();
    if (!/^(file|data|blob):/.test(address)) failures.push(`${where}: asks for ${address}`);
  });
}

// Violations of at least this impact fail; lesser ones are noted.
export async function accessible(page, where, fails = ["serious", "critical"]) {
  // Sections far from the screen are laid out late: here all of them are looked at.
  await page.addStyleTag({ content: "* { content-visibility: visible !important; }" });
  await page.evaluate(axeSource);
  const { violations } = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  checks += 1;
  for (const { id, impact, help, nodes } of violations) {
    const line = `${where}: ${impact} ${id}: ${help}, ${nodes.length} × such as ${nodes[0].target}`;
    if (fails.includes(impact)) failures.push(line);
    else console.log(`  noted: ${line}`);
  }
}

export async function fits(page, where) {
  const [content, window] = await page.evaluate(() => [
    document.documentElement.scrollWidth,
    document.documentElement.clientWidth,
  ]);
  check(content <= window, `${where}: the page is ${content} px wide in a window of ${window} px`);
}

export function launch() {
  return puppeteer.launch({
    executablePath: chromium(),
    // As root in a container Chromium has no sandbox of its own; the rest keeps it off the network.
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
      "--no-first-run",
    ],
  });
}

export function finish() {
  for (const failure of failures) console.error(`FAILED ${failure}`);
  console.log(`${checks} checks, ${failures.length} failures`);
  process.exit(failures.length ? 1 : 0);
}
