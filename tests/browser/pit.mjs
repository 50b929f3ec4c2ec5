// A whole invented night on pit.html in headless Chromium, by taps at 390 px: 40 of them, a reload, two
// corrections; then the export is taken into the season twice, and the season is run from it alone.
//
//   node pit.mjs COOKSTUDY WORK_FOLDER [SCREENSHOT_FOLDER]
//
// COOKSTUDY is the command; WORK_FOLDER is made.

import { execFileSync, spawnSync } from "node:child_process";
import { mkdirSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { accessible, check, finish, fits, launch, watch } from "./browser.mjs";

const [command, work, screenshots] = process.argv.slice(2);
if (!command || !work) {
  console.error("say which command and where to work: node pit.mjs COOKSTUDY WORK_FOLDER");
  process.exit(2);
}
const cookstudy = (...given) => spawnSync(resolve(command), given, { encoding: "utf8" });
const MINUTE = 60_000;
const START = Date.parse("2026-05-02T03:00:00Z"); // 22:00 of 1 May in Chicago
const TAPS = 40;
const SMALLEST_TARGET = 48;

rmSync(work, { recursive: true, force: true });
execFileSync(resolve(command), ["new", work]);
const settings = join(work, "season.toml");
writeFileSync(settings, readFileSync(settings, "utf8").replace(/^(# ?)?time_zone = .*$/m, 'time_zone = "America/Chicago"'));
writeFileSync(
  join(work, "sheet.csv"),
  "cook,date,pit,cut,trimmed_weight_lb,pit_setpoint_f,wrap_method,turn_in_at\n" +
    "the-night,2026-05-01,Barrel,brisket,13.2,250,,2026-05-02 12:00\n",
);
execFileSync(resolve(command), ["new", work, "--page"]);
const url = pathToFileURL(resolve(work, "pit.html")).href;

const browser = await launch();
try {
  const context = browser.defaultBrowserContext();
  await context.overridePermissions(url, []).catch(() => {});
  const page = await browser.newPage();
  await page.setViewport({ width: 390, height: 844, hasTouch: true, isMobile: true });
  await page.emulateTimezone("America/Chicago");
  // The night goes by as fast as thumbs can tap: the page's clock is the one that is told here.
  await page.evaluateOnNewDocument((start) => {
    const Real = Date;
    const now = () => Number(sessionStorage.getItem("clock") ?? start);
    globalThis.Date = class extends Real {
      constructor(...given) { super(...(given.length ? given : [now()])); }
      static now() { return now(); }
    };
  }, START);
  watch(page, "pit.html");
  await page.goto(url, { waitUntil: "load" });

  let minutes = 0;
  let taps = 0;
  const until = async (minute) => {
    minutes = minute;
    await page.evaluate((at) => sessionStorage.setItem("clock", String(at)), START + minute * MINUTE);
  };
  const tap = async (selector) => {
    const element = await page.waitForSelector(selector, { visible: true, timeout: 5000 });
    await element.evaluate((one) => one.scrollIntoView({ block: "center" }));
    await element.tap();
    taps += 1;
  };
  const event = (what) => tap(`[data-event="${what}"]`);
  const fill = async (selector, text) => {
    await page.$eval(selector, (input) => { input.value = ""; });
    await page.type(selector, text);
  };
  const core = async (minute, read, place) => {
    await until(minute);
    if (place) await tap(`#places button:nth-of-type(${place === "flat" ? 1 : 2})`);
    await fill("#core", String(read));
    await tap("#take-core");
  };
  const listed = () => page.$$eval("#list > li", (all) => all.map((one) => one.firstChild.textContent + one.childNodes[1].textContent));

  check((await page.$$eval("#cooks button[aria-pressed=true]", (all) => all.map((one) => one.textContent))).join() === "the-night", "the only cook is not the one taken");
  check(/13\.2\slb/.test(await page.$eval("#card-lines", (all) => all.textContent)), "the card has no weight in the season's units");
  check((await page.$$eval("#milestone-list li", (all) => all.map((one) => one.textContent))).join() === "Sat 12:00 Turn-in", "the card's turn-in is not among tonight's milestones");

  await event("lit");
  await until(70);
  await event("meat_on");
  await core(75, 39, "flat");
  await until(160);
  await event("spritz");
  await core(200, 98);
  await until(220);
  await event("spritz");
  await core(260, 121);
  await until(262);
  await event("bark not-yet");
  await until(280);
  await event("spritz");
  await until(300);
  await event("lid open");
  await until(302);
  await event("lid close");
  await core(320, 140);
  await until(330);
  await event("setpoint");
  await until(340);
  await event("fuel");
  await core(380, 149);
  await until(382);
  await event("bark nearly");
  await core(420, 154, "point");
  await until(440);
  await event("spritz");

  // The phone sleeps, the browser drops the page, the page comes back.
  const before = await listed();
  await page.reload({ waitUntil: "load" });
  check((await listed()).join("\n") === before.join("\n") && before.length === 18, `a reload changes the list: ${before.length} before, ${(await listed()).length} after`);

  await core(450, 158, "flat");
  await until(455);
  await event("bark set");
  await until(458);
  await event("wrap foil");
  await core(520, 171);
  await core(580, 184);
  await core(625, 195);
  await until(630);
  await event("probe_test not");
  await core(650, 201);
  await until(652);
  await event("probe_test tender");
  await until(655);
  await event("pull");
  await until(657);
  await event("probe_moved");
  await tap("#undo"); // It was no moved probe.
  check(!(await listed()).some((line) => line.includes("Probe moved")), "undo does not take back");
  await until(740);
  await event("slice");

  // Two corrections: the foil was butcher paper, and the wrap was two minutes before it was tapped.
  const correct = async (label, change) => {
    await tap(`[aria-label^="Correct ${label}"]`);
    await change();
    await tap("#list form button[type=submit]");
  };
  await correct("Wrap: foil", () => fill("#edit-value", "paper"));
  await correct("Wrap: paper", async () => {
    await page.$eval("#edit-time", (input) => { input.value = "2026-05-02T05:36:00"; });
    await fill("#edit-note", "by the bark");
  });
  check((await listed()).some((line) => line.startsWith("5:36 Wrap: paper. by the bark")), `the corrections are not in the list: ${await listed()}`);
  await tap('[aria-label^="Correct Core: 201F"]');
  await fill("#edit-value", "hot");
  await tap("#list form button[type=submit]");
  check(await page.$eval("#list form [role=alert]", (one) => !one.hidden && one.textContent.includes("temperature")), "a core that is none is taken");
  await page.evaluate(() => [...document.querySelectorAll("#list form button")].at(-1).click());
  check(taps >= TAPS, `${taps} taps are fewer than ${TAPS}`);

  await accessible(page, "pit.html", ["minor", "moderate", "serious", "critical"]);
  await fits(page, "pit.html at 390 px");
  await page.$$eval("details", (all) => all.forEach((one) => { one.open = true; }));
  await fits(page, "pit.html at 390 px, opened");
  const small = await page.$$eval("button, input, summary, textarea", (all, least) =>
    all
      .filter((one) => one.checkVisibility())
      .map((one) => ({ text: one.textContent || one.id, box: one.getBoundingClientRect() }))
      .filter(({ box }) => box.height < least || box.width < least)
      .map(({ text, box }) => `${text.trim()} ${Math.round(box.width)} × ${Math.round(box.height)}`), SMALLEST_TARGET);
  check(small.length === 0, `targets under ${SMALLEST_TARGET} px: ${small.join("; ")}`);
  if (screenshots) {
    mkdirSync(screenshots, { recursive: true });
    await page.screenshot({ path: join(screenshots, "pit-390.png"), fullPage: true });
  }

  // The file that the page saves is the text that it shows.
  const downloads = resolve(work, "downloads");
  const session = await page.createCDPSession();
  await session.send("Browser.setDownloadBehavior", { behavior: "allow", downloadPath: downloads, eventsEnabled: true });
  const finished = new Promise((done) => session.on("Browser.downloadProgress", (at) => at.state === "completed" && done()));
  await tap("#save");
  await finished;
  const shown = await page.$eval("#text", (one) => one.value);
  const saved = readFileSync(join(downloads, readdirSync(downloads)[0]), "utf8");
  check(saved === shown && saved.startsWith("cookstudy/pit/1\n"), "the saved file is not the text that is shown");
  check((await page.$eval("#exported", (one) => one.textContent)).startsWith("All of it was exported"), "the page does not say that all was exported");
  const file = join(work, "pit-export.txt");
  writeFileSync(file, saved);
  const written = saved.trim().split("\n").length - 1;

  const first = cookstudy("note", "--from", file, "--season", work);
  check(first.status === 0 && first.stdout.trim().split("\n").length === written, `the export is not taken whole: ${first.stdout}${first.stderr}`);
  const once = readFileSync(join(work, "events.csv"), "utf8");
  const again = cookstudy("note", "--from", file, "--season", work);
  check(again.status === 0 && again.stdout === "" && readFileSync(join(work, "events.csv"), "utf8") === once, `taking it again adds something: ${again.stdout}${again.stderr}`);
  check(once.includes("the-night,2026-05-02T05:36:00-05:00,wrap,paper,by the bark,"), "the corrected wrap is not in events.csv");

  const run = cookstudy("run", work);
  check(run.status === 0, `the season does not run: ${run.stdout}${run.stderr}`);
  const [row] = JSON.parse(cookstudy("query", "SELECT spot_readings, bark_at_wrap, wrap_method, probe_tests FROM measures", "--store", join(work, "store"), "--format", "json").stdout);
  check(row.spot_readings === 11 && row.bark_at_wrap === "set" && row.wrap_method === "paper" && row.probe_tests === 2, `the measures say ${JSON.stringify(row)}`);

  // The card to print is one page on either paper.
  const card = await browser.newPage();
  watch(card, "card.html");
  await card.goto(pathToFileURL(resolve(work, "card.html")).href, { waitUntil: "load" });
  await accessible(card, "card.html");
  for (const format of ["Letter", "A4"]) {
    const pages = Buffer.from(await card.pdf({ format })).toString("latin1").match(/\/Type\s*\/Page\b/g).length;
    check(pages === 1, `card.html is ${pages} pages on ${format}`);
  }
  if (screenshots) await card.screenshot({ path: join(screenshots, "card.png"), fullPage: true });
  await card.close();

  // A phone that remembers nothing, and one that is full, say so and go on.
  for (const [name, broken, word] of [
    ["no storage", () => { Object.defineProperty(globalThis, "localStorage", { get() { throw new DOMException("denied", "SecurityError"); } }); }, "remember nothing"],
    ["full storage", () => { Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError"); }; }, "full"],
  ]) {
    const other = await browser.newPage();
    await other.evaluateOnNewDocument(broken);
    watch(other, name);
    await other.goto(url, { waitUntil: "load" });
    const count = async () => (await other.$$("#list > li")).length;
    const had = await count();
    await other.click('[data-event="spritz"]');
    await other.click('[data-event="unwrap"]');
    check((await count()) === had + 2, `${name}: events are lost`);
    check((await other.$eval("#trouble", (one) => (one.hidden ? "" : one.textContent))).includes(word), `${name}: the page does not say so`);
    await other.close();
  }
} catch (error) {
  check(false, error.stack);
} finally {
  await browser.close();
}
finish();
