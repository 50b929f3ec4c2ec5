// Drives a finished report in headless Chromium and fails on anything a reader would trip over.
//
//   node check.mjs OUT_FOLDER [SCREENSHOT_FOLDER]
//
// OUT_FOLDER holds summary.html, how-we-cook.html, report.html and cooks/, as `cookstudy run` writes them. Chromium is found by
// the variable CHROMIUM, else as `chromium` on the PATH.

import { existsSync, mkdirSync, readdirSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { accessible, check, finish, fits, launch, watch } from "./browser.mjs";

const [outFolder, screenshots] = process.argv.slice(2);
if (!outFolder) {
  console.error("say which folder holds report.html: node check.mjs OUT_FOLDER");
  process.exit(2);
}
// Screens that people read on; the widths are round numbers, not devices.
const SCREENS = [
  { name: "desktop", width: 1280, height: 900, scheme: "light" },
  { name: "dark", width: 1280, height: 900, scheme: "dark" },
  { name: "phone", width: 390, height: 844, scheme: "light" },
];

async function open(browser, url, screen, scripts = true) {
  const page = await browser.newPage();
  await page.setJavaScriptEnabled(scripts);
  await page.setViewport({ width: screen.width, height: screen.height });
  await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: screen.scheme }]);
  const where = `${url.split("/").slice(-2).join("/")} (${screen.name})`;
  watch(page, where);
  await page.goto(url, { waitUntil: "load" });
  return { page, where };
}

async function figures(page, where) {
  const poor = await page.$$eval("svg", (all) =>
    all
      .filter((svg) => svg.getAttribute("aria-hidden") !== "true")
      .filter((svg) => {
        const text = (selector) => svg.querySelector(`:scope > ${selector}`)?.textContent.trim() ?? "";
        // What holds links is a group: an image hides its parts from those who hear it.
        const role = svg.querySelector("a") ? "group" : "img";
        return !(text("title") && text("desc") && svg.getAttribute("role") === role);
      })
      .map((svg) => svg.outerHTML.slice(0, 120)),
  );
  check(poor.length === 0, `${where}: figures without title, description or role: ${poor.join(" | ")}`);
}

// The season's verdicts come first: the first two stand whole on the first screen of a small laptop
// and of a phone, and so does the first that names both foil and paper.
async function verdictsFirst(browser, url) {
  for (const [width, height] of [[1280, 800], [390, 844]]) {
    const { page } = await open(browser, url, { name: `${width} × ${height}`, width, height, scheme: "light" });
    const answers = await page.$$eval(".verdicts > li", (all) =>
      all.map((one) => ({ text: one.textContent, bottom: one.getBoundingClientRect().bottom })),
    );
    const wrap = answers.find(({ text }) => /foil/i.test(text) && /paper/i.test(text));
    for (const answer of [...answers.slice(0, 2), ...(wrap ? [wrap] : [])]) {
      check(answer.bottom <= height, `${width} × ${height}: “${answer.text}” ends at ${Math.round(answer.bottom)}`);
    }
    check(answers.length > 0, `${width} × ${height}: no verdict`);
    await page.close();
  }
}

// Each of the four pages is one page on paper, on both papers, with nothing scaled down: Chromium shrinks
// a page whose content is broader than the paper, and then its text too.
async function onFourPages(browser, url) {
  const { page, where } = await open(browser, url, SCREENS[0]);
  const sheets = await page.$$eval(".sheet", (all) => all.length);
  check(sheets > 0 && sheets <= 4, `${where}: ${sheets} pages to print`);
  for (const format of ["Letter", "A4"]) {
    const pdf = Buffer.from(await page.pdf({ format })).toString("latin1");
    const pages = pdf.match(/\/Type\s*\/Page[^s]/g)?.length ?? 0;
    check(pages === sheets, `${where}: ${sheets} sheets are ${pages} pages on ${format}`);
  }
  await page.emulateMediaType("print");
  // The breadth of Letter, the narrower margin to margin of the two in this respect being A4: 210 − 34 mm.
  await page.setViewport({ width: Math.floor(((210 - 34) / 25.4) * 96), height: 900 });
  await fits(page, `${where} on paper`);
  const small = await page.$$eval(".sheet p, .sheet li, .sheet td", (all) =>
    all.map((own) => parseFloat(getComputedStyle(own).fontSize)).filter((size) => size < 8 * (96 / 72)).length,
  );
  check(small === 0, `${where}: ${small} texts below 8 pt on paper`);
  await page.close();
}

// What is not folded of a cook's page is two pages on both papers.
async function onTwoPages(browser, url) {
  const page = await browser.newPage();
  await page.goto(url);
  for (const format of ["letter", "a4"]) {
    const pdf = Buffer.from(await page.pdf({ format })).toString("latin1");
    const pages = pdf.match(/\/Type\s*\/Page[^s]/g)?.length ?? 0;
    check(pages === 2, `${url}: ${pages} pages on ${format}`);
  }
  await page.close();
}

// Text in drawings can be read on a phone: at least 9 px of height, in what is drawn on the first pages.
async function readableDrawings(page, where) {
  const small = await page.$$eval(".sheet figure svg", (all) =>
    all.flatMap((svg) => {
      const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
      return [...svg.querySelectorAll("text")]
        .map((text) => parseFloat(getComputedStyle(text).fontSize) * scale)
        .filter((size) => size < 8.95);
    }),
  );
  check(small.length === 0, `${where}: ${small.length} texts of drawings below 9 px, the smallest ${Math.min(...small)}`);
}

// Whoever goes by the Tab key is not sent through every cook: links in tables and figures of cooks apart,
// which each have a link to skip them, few stops are left.
async function fewStops(page, where) {
  const stops = await page.evaluate(() => {
    const focusable = "a[href], button, input, select, textarea, summary, [tabindex]:not([tabindex='-1'])";
    return [...document.querySelectorAll(focusable)].filter(
      (own) => !own.closest("table, figure svg, details:not([open]) > :not(summary)") && own.checkVisibility(),
    ).length;
  });
  check(stops < 120, `${where}: ${stops} stops of the Tab key outside tables and figures`);
  const unskipped = await page.$$eval("figure svg a", (all) =>
    [...new Set(all.map((own) => own.closest("figure")))].filter(
      (figure) => !figure.previousElementSibling?.matches("a.skip"),
    ).length,
  );
  check(unskipped === 0, `${where}: ${unskipped} figures of cooks without a link to skip them`);
}

async function keyboard(page, where) {
  const expected = await page.evaluate(() => {
    const focusable = "a[href], button, input, select, textarea, summary, [tabindex]:not([tabindex='-1'])";
    const all = [...document.querySelectorAll(focusable)].filter(
      (element) => !element.disabled && element.checkVisibility({ visibilityProperty: true }),
    );
    all.forEach((element, index) => (element.dataset.place = index));
    return all.length;
  });
  const reached = new Set();
  let unseen = 0;
  for (let press = 0; press < expected + 5; press += 1) {
    await page.keyboard.press("Tab");
    const at = await page.evaluate(() => {
      const element = document.activeElement;
      const style = getComputedStyle(element);
      const seen = style.outlineStyle !== "none" || style.boxShadow !== "none";
      return { place: element.dataset?.place, seen };
    });
    if (at.place === undefined) continue;
    reached.add(at.place);
    if (!at.seen) unseen += 1;
  }
  check(reached.size >= expected, `${where}: Tab reaches ${reached.size} of ${expected} controls`);
  check(unseen === 0, `${where}: ${unseen} focused controls do not show that they are`);
}

// The table of the cooks: sorted by any head, filtered by words, by keyboard as by mouse, and put
// back as it was. Missing values come last either way.
async function sortsAndFilters(page, where) {
  const rows = (column) =>
    page.$$eval(
      "[data-sortable] tbody tr",
      (all, index) => all.map((row) => row.cells[index].firstChild?.textContent.trim() ?? ""),
      column,
    );
  const head = await page.$$eval("[data-sortable] thead", (all) =>
    [...all[0].rows[0].cells].findIndex((cell) => cell.textContent.startsWith("Stall delay")),
  );
  check(head > 0, `${where}: no head to sort by`);
  const before = await rows(0);
  const press = async (column, key) => {
    await page.$$eval("[data-sortable] thead", (all, index) => all[0].rows[0].cells[index].querySelector("button").focus(), column);
    await page.keyboard.press(key);
  };
  const number = (text) => (text === "–" ? null : Number(text.replace(/[≥\s\u00a0\u202f]/g, "").replace("\u2212", "-")));
  for (const [key, sign, word] of [["Enter", 1, "ascending"], ["Space", -1, "descending"]]) {
    await press(head, key);
    const values = (await rows(head)).map(number);
    const known = values.filter((value) => value !== null);
    const ordered = known.every((value, i) => i === 0 || sign * (value - known[i - 1]) >= 0);
    check(ordered && known.length > 1, `${where}: ${key} does not sort ${word}`);
    check(values.slice(known.length).every((value) => value === null), `${where}: missing values are not last`);
    const said = await page.$$eval("[data-sortable] thead", (all, index) => all[0].rows[0].cells[index].getAttribute("aria-sort"), head);
    check(said === word, `${where}: aria-sort says ${said}, not ${word}`);
  }
  await press(1, "Enter");
  const sorted = await rows(0);
  check(sorted.length === before.length && new Set(sorted).size === new Set(before).size, `${where}: sorting loses rows`);
  await page.focus("[data-sortable] input");
  const wanted = before[0];
  await page.keyboard.type(wanted);
  const shown = await rows(0);
  check(shown.includes(wanted) && shown.length < before.length, `${where}: filtering by ${wanted} leaves ${shown.length} rows`);
  const said = await page.$eval("[data-sortable] output", (output) => output.textContent);
  check(said.startsWith(`${shown.length} of `), `${where}: the filter says “${said}”`);
  await page.$eval("[data-sortable] input", (input) => {
    input.value = "";
    input.dispatchEvent(new Event("input"));
  });
  check((await rows(0)).length === before.length, `${where}: rows do not come back`);
}

// Every link to another page leads to one, and from a row of the table to the cook's page.
async function linksLead(page, where, folder) {
  const links = await page.$$eval("a[href]", (all) => all.map((a) => a.getAttribute("href")));
  const files = [...new Set(links.filter((href) => !href.startsWith("#")))];
  const missing = files.filter((href) => !existsSync(join(folder, decodeURIComponent(href.split("#")[0]))));
  check(missing.length === 0, `${where}: links to nothing: ${missing.slice(0, 3).join(", ")}`);
}

// Without scripts every figure and every row of every table must still be there to read.
async function readableWithoutScripts(browser, url) {
  const count = (page) =>
    page.$$eval("svg, tbody tr", (all) => all.filter((one) => one.checkVisibility()).length);
  const withScripts = await open(browser, url, SCREENS[0]);
  const without = await open(browser, url, SCREENS[0], false);
  // $$eval works in an isolated world of the driver, whatever the page itself may run.
  const [full, bare] = [await count(withScripts.page), await count(without.page)];
  check(bare >= full && bare > 0, `${without.where}: ${bare} rows and figures without scripts, ${full} with`);
  await withScripts.page.close();
  await without.page.close();
}

const browser = await launch();
try {
  const cooks = readdirSync(join(outFolder, "cooks")).filter((name) => name.endsWith(".html")).sort();
  check(cooks.length > 0, "no cook has a page");
  await onFourPages(browser, pathToFileURL(resolve(outFolder, "summary.html")).href);
  for (const name of [cooks[0], cooks.at(-1)]) {
    await onTwoPages(browser, pathToFileURL(resolve(outFolder, "cooks", name)).href);
  }
  const pages = ["summary.html", "how-we-cook.html", "report.html", ...[cooks[0], cooks.at(-1)].map((name) => `cooks/${name}`)];
  for (const name of pages) {
    const url = pathToFileURL(resolve(outFolder, name)).href;
    for (const screen of SCREENS) {
      const { page, where } = await open(browser, url, screen);
      await accessible(page, where);
      await figures(page, where);
      await fits(page, where);
      if (screen.name === "phone") await readableDrawings(page, where);
      if (screen.name === "desktop") {
        await fewStops(page, where);
        await keyboard(page, where);
        await linksLead(page, where, dirname(resolve(outFolder, name)));
        if (name === "report.html") await sortsAndFilters(page, where);
      }
      const isFirst = ["summary.html", "report.html"].includes(name);
      if (isFirst && screen.name === "desktop") await verdictsFirst(browser, url);
      if (screenshots) {
        mkdirSync(screenshots, { recursive: true });
        const path = join(screenshots, `${name.replace(/[/.]/g, "-")}-${screen.name}.png`);
        await page.screenshot({ path, fullPage: screen.name !== "phone" });
      }
      await page.close();
    }
    await readableWithoutScripts(browser, url);
  }
} finally {
  await browser.close();
}
finish();
