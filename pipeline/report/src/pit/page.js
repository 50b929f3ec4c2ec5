"use strict";
(() => {
  const SCHEMA = "cookstudy/pit/1";
  const season = JSON.parse(document.getElementById("season").textContent);
  const KEY = SCHEMA + "/" + season.team;
  const us = season.units === "us";
  const DEGREE = us ? "F" : "C";
  // A thumb that slips taps twice: the same thing within this many ms is one tap.
  const ONE_TAP_MS = 700;
  const $ = (id) => document.getElementById(id);

  const MASS = us ? "lb" : "kg";
  // Each group of buttons: what people read, the event and its value. `ask` wants a value first.
  const GROUPS = [
    ["Wrap and lid", [
      ["Wrap: foil", "wrap", "foil"], ["Wrap: paper", "wrap", "paper"],
      ["Unwrap", "unwrap"], ["Spritz", "spritz"],
      ["Lid open", "lid", "open"], ["Lid closed", "lid", "close"],
    ]],
    ["Bark", [["Not yet", "bark", "not-yet"], ["Nearly", "bark", "nearly"], ["Set", "bark", "set"]]],
    ["Probe test", [["Tender", "probe_test", "tender"], ["Not tender", "probe_test", "not"], ["Probe moved", "probe_moved"]]],
    ["Fire", [
      ["Fire lit", "lit"],
      ["Set-point", "setpoint", null, { ask: "Set-point, °" + DEGREE, unit: DEGREE, start: us ? "250" : "120" }],
      ["Fuel added", "fuel", null, { ask: "Fuel, " + MASS, unit: MASS, start: us ? "5" : "2" }],
    ]],
    ["Marks", [
      ["Meat on", "meat_on"], ["Pull", "pull"], ["Slice", "slice"],
      ["Wrap: other", "wrap", null, { ask: "Wrapped in", unit: "", start: "" }],
    ]],
  ];
  const SAID = new Map();
  for (const [group, all] of GROUPS) {
    for (const [label, kind, value] of all) {
      const alone = group === "Bark" ? "Bark: " + label.toLowerCase() : group === "Probe test" && value ? "Probe test: " + label.toLowerCase() : label;
      SAID.set(kind + "\t" + (value ?? ""), alone);
    }
  }
  const KIND = { core: "Core", wrap: "Wrap", setpoint: "Set-point", fuel: "Fuel", bark: "Bark", lid: "Lid", probe_test: "Probe test" };
  const NUMBER = "\\d+(?:[.,]\\d+)?";
  const USUAL = {
    core: [new RegExp("^" + NUMBER + "\\s*°?[CFcf](\\s+\\S.*)?$"), "a temperature with " + DEGREE + ", and perhaps the place: 165" + DEGREE + " flat"],
    setpoint: [new RegExp("^" + NUMBER + "\\s*°?[CFcf]$"), "a temperature with " + DEGREE],
    fuel: [new RegExp("^" + NUMBER + "\\s*(kg|g|lb|lbs|oz)$", "i"), "a mass with its unit, such as 5" + MASS],
    lid: [/^(open|close|\d+)$/, "open, close or seconds"],
    probe_test: [/^(tender|not)$/, "tender or not"],
    bark: [/^(not-yet|nearly|set|[1-5])$/, "not-yet, nearly or set"],
    wrap: [/\S/, "what it was wrapped in"],
  };

  // What is remembered. A phone may refuse to: then the page says so and holds it until it is closed.
  const blank = () => ({ prefix: random(), next: 1, events: [], cooks: [], cook: null, place: null, core: null, exported: null });
  function random() {
    const bytes = new Uint8Array(5);
    crypto.getRandomValues(bytes);
    return Array.from(bytes, (byte) => (byte % 36).toString(36)).join("");
  }
  let state = blank();
  const troubles = new Map();
  function trouble(what, text) {
    if (text) troubles.set(what, text); else troubles.delete(what);
    $("trouble").textContent = [...troubles.values()].join(" ");
    $("trouble").hidden = troubles.size === 0;
  }
  function remembered() {
    let text = null;
    try {
      text = localStorage.getItem(KEY);
    } catch {
      trouble("storage", "This phone lets the page remember nothing: closed or reloaded, it forgets. Export before you leave it.");
      return null;
    }
    if (text === null) return null;
    try {
      const read = JSON.parse(text);
      if (!Array.isArray(read.events) || typeof read.prefix !== "string") throw new Error("not ours");
      return { ...blank(), ...read };
    } catch {
      try { localStorage.setItem(KEY + "/unreadable", text); } catch { /* The next line says what matters. */ }
      trouble("unreadable", "What this phone remembered could not be read. It is set aside, and the list begins anew.");
      return null;
    }
  }
  function change(apply) {
    // Another tab may have written meanwhile: its events stay.
    if (!troubles.has("storage")) state = remembered() ?? state;
    const cooks = cooksNow();
    if (!cooks.includes(state.cook)) state.cook = cooks.length === 1 ? cooks[0] : null;
    apply(state);
    try {
      localStorage.setItem(KEY, JSON.stringify(state));
      trouble("storage", null);
    } catch (error) {
      const full = error && (error.name === "QuotaExceededError" || error.code === 22);
      trouble("storage", full
        ? "This phone’s storage is full: what you tap now is kept until the page is closed. Export before you leave it."
        : "This phone lets the page remember nothing: closed or reloaded, it forgets. Export before you leave it.");
    }
    show();
  }

  const two = (number) => String(number).padStart(2, "0");
  // The clock where it was tapped, whatever zone the phone is in later.
  const local = (event) => new Date(event.at + event.offset * 60000);
  function iso(event) {
    const sign = event.offset < 0 ? "-" : "+";
    const offset = Math.abs(event.offset);
    return local(event).toISOString().slice(0, 19) + sign + two(Math.floor(offset / 60)) + ":" + two(offset % 60);
  }
  const clock = (event) => { const at = local(event); return at.getUTCHours() + ":" + two(at.getUTCMinutes()); };
  const said = (event) => SAID.get(event.kind + "\t" + event.value) ?? (KIND[event.kind] ?? event.kind) + (event.value ? ": " + event.value : "");
  const flat = (text) => text.replace(/[\t\r\n]+/g, " ").trim();
  function exported() {
    const all = [...state.events].sort((a, b) => a.at - b.at || (a.id < b.id ? -1 : 1));
    const line = (event) => [event.id, event.cook, iso(event), event.kind, event.value, event.note].map(flat).join("\t");
    return [SCHEMA, ...all.map(line)].join("\n") + "\n";
  }

  function make(tag, text, given = {}) {
    const element = document.createElement(tag);
    if (text !== undefined) element.textContent = text;
    for (const [name, value] of Object.entries(given)) {
      if (name === "onclick") element.addEventListener("click", value); else element.setAttribute(name, value);
    }
    return element;
  }
  const button = (text, onclick, given = {}) => make("button", text, { type: "button", onclick, ...given });

  let undo = null;
  function tell(text, back) {
    undo = back ?? null;
    $("last-text").textContent = text;
    $("undo").hidden = undo === null;
  }
  let lastTap = { what: "", at: -Infinity };
  function write(kind, value = "") {
    if (!state.cook) { tell("Say first which cook it is."); return; }
    const what = [state.cook, kind, value].join("\t");
    const now = performance.now();
    if (what === lastTap.what && now - lastTap.at < ONE_TAP_MS) return;
    lastTap = { what, at: now };
    const at = Math.floor(Date.now() / 1000) * 1000;
    const offset = -new Date(at).getTimezoneOffset();
    let event;
    change((all) => {
      event = { id: all.prefix + "-" + all.next, cook: all.cook, at, offset, kind, value: flat(value), note: "" };
      all.next += 1;
      all.events.push(event);
    });
    tell(said(event) + ", " + clock(event), () => {
      change((all) => { all.events = all.events.filter((one) => one.id !== event.id); });
      tell("Taken back: " + said(event));
    });
  }
  function remove(event) {
    change((all) => { all.events = all.events.filter((one) => one.id !== event.id); });
    tell("Removed: " + said(event) + ", " + clock(event), () => {
      change((all) => { all.events.push(event); });
      tell("Put back: " + said(event));
    });
  }

  // A season has more cooks than a thumb wants to pass: those of these days have a button, the others
  // a place in the list behind it.
  function soon(cook) {
    if (!cook.date || season.cooks.length <= 3) return true;
    const days = (Date.parse(cook.date + "T12:00:00") - Date.now()) / 86400000;
    return Math.abs(days) < 3;
  }

  const cooksNow = () => [...new Set([...season.cooks.filter(soon).map((cook) => cook.name), ...state.cooks])];

  let editing = null;
  function form(event) {
    const given = make("form", undefined, { "aria-label": "Correct " + said(event) });
    const field = (name, text, type, value) => {
      const id = "edit-" + name;
      given.append(make("label", text, { for: id }));
      const input = make("input", undefined, { id, type, autocomplete: "off" });
      if (type === "datetime-local") input.step = "1";
      input.value = value;
      given.append(input);
      return input;
    };
    const time = field("time", "When", "datetime-local", local(event).toISOString().slice(0, 19));
    const value = USUAL[event.kind] ? field("value", "Value: " + USUAL[event.kind][1], "text", event.value) : null;
    const note = field("note", "Note", "text", event.note);
    const wrong = make("p", "", { class: "trouble", role: "alert", hidden: "" });
    const both = make("div", undefined, { class: "pair" });
    both.append(make("button", "Keep", { type: "submit" }), button("Leave it", () => { editing = null; show(); }));
    given.append(wrong, both);
    given.addEventListener("submit", (submitted) => {
      submitted.preventDefault();
      const at = Date.parse(time.value + "Z") - event.offset * 60000;
      const text = value ? flat(value.value) : event.value;
      const problem = Number.isNaN(at) ? "That is no date and time."
        : value && !USUAL[event.kind][0].test(text) ? "It takes " + USUAL[event.kind][1] + "." : "";
      wrong.textContent = problem;
      wrong.hidden = problem === "";
      if (problem) return;
      const before = { ...event };
      const put = (one) => change((all) => { all.events = all.events.map((old) => (old.id === one.id ? one : old)); });
      editing = null;
      put({ ...event, at, value: text, note: flat(note.value) });
      tell("Corrected: " + said({ ...event, value: text }), () => { put(before); tell("As it was: " + said(before)); });
    });
    return given;
  }

  function show() {
    const cooks = cooksNow();
    $("cooks").replaceChildren(...cooks.map((name) =>
      button(name, () => change((all) => { all.cook = name; }), { "aria-pressed": String(name === state.cook) })));
    $("another").open = $("another").open || cooks.length === 0;

    const card = season.cooks.find((cook) => cook.name === state.cook);
    $("card").hidden = !card || card.card.length === 0;
    $("card-lines").replaceChildren(...(card?.card ?? []).flatMap(([label, text]) => [make("dt", label), make("dd", text)]));

    const now = Date.now();
    const tonight = season.milestones.filter((one) => {
      const hours = (Date.parse(one.at) - now) / 3600000;
      return (!state.cook || one.cook === state.cook) && hours > -12 && hours < 48;
    });
    $("milestones").hidden = tonight.length === 0;
    $("milestone-list").replaceChildren(...tonight.map((one) => {
      const item = make("li");
      item.append(make("time", one.at_local, { datetime: one.at }), " " + one.label);
      if (one.range) item.append(make("span", " (" + one.range + ")", { class: "quiet" }));
      return item;
    }));

    const places = [...new Set(["flat", "point", "", ...(state.place ? [state.place] : [])])];
    $("places").replaceChildren($("places").querySelector("legend"), ...places.map((place) =>
      button(place || "no place", () => change((all) => { all.place = place; }), { "aria-pressed": String(place === (state.place ?? "")) })));
    if (document.activeElement !== $("core")) $("core").value = state.core ?? (us ? "150" : "65");

    const newest = [...state.events].sort((a, b) => b.at - a.at || (a.id < b.id ? 1 : -1));
    $("count").textContent = "(" + newest.length + ")";
    $("list").replaceChildren(...newest.map((event) => {
      const item = make("li");
      const several = cooks.length > 1 || event.cook !== state.cook;
      item.append(make("time", clock(event), { datetime: iso(event) }), " " + said(event) + (several ? ", " + event.cook : "") + (event.note ? ". " + event.note : ""));
      if (editing === event.id) { item.append(form(event)); return item; }
      const both = make("div", undefined, { class: "pair" });
      const whose = " " + said(event) + " at " + clock(event);
      both.append(
        button("Correct", () => { editing = event.id; show(); $("edit-time").focus(); }, { "aria-label": "Correct" + whose }),
        button("Remove", () => remove(event), { "aria-label": "Remove" + whose }));
      item.append(both);
      return item;
    }));

    $("text").value = exported();
    const sent = state.exported;
    $("exported").textContent = newest.length === 0 ? "Nothing is written down yet."
      : !sent ? "Nothing was exported yet."
      : sent.text === fingerprint($("text").value) ? "All of it was exported at " + sent.clock + "."
      : "Exported at " + sent.clock + "; something changed since.";
  }
  function fingerprint(text) {
    let sum = 0;
    for (let at = 0; at < text.length; at += 1) sum = (Math.imul(sum, 31) + text.charCodeAt(at)) | 0;
    return sum;
  }
  function wasExported() {
    const now = new Date();
    change((all) => { all.exported = { text: fingerprint(exported()), clock: now.getHours() + ":" + two(now.getMinutes()) }; });
  }

  for (const [heading, all] of GROUPS) {
    $("buttons").append(make("h3", heading));
    const grid = make("div", undefined, { class: "grid" });
    $("buttons").append(grid);
    for (const [label, kind, value, more] of all) {
      if (!more) { grid.append(button(label, () => write(kind, value ?? ""), { "data-event": kind + (value ? " " + value : "") })); continue; }
      const row = make("div", undefined, { class: "with-value" });
      const given = make("label", more.ask);
      const input = make("input", undefined, { autocomplete: "off", ...(more.unit ? { inputmode: "decimal" } : {}) });
      input.value = more.start;
      given.append(input);
      row.append(given, button(label, () => {
        const text = flat(input.value) + more.unit;
        if (!USUAL[kind][0].test(text)) { tell("It takes " + USUAL[kind][1] + "."); input.focus(); return; }
        write(kind, text);
      }, { "data-event": kind }));
      $("buttons").append(row);
    }
  }
  $("known").replaceChildren(...season.cooks.map((cook) => make("option", undefined, { value: cook.name })));
  $("core-unit").textContent = "°" + DEGREE;
  $("core").setAttribute("aria-label", "Core temperature, °" + DEGREE);
  const core = () => Number($("core").value.trim().replace(",", "."));
  $("core").addEventListener("input", () => { state.core = $("core").value; });
  for (const step of document.querySelectorAll(".step")) {
    step.addEventListener("click", () => {
      const next = Math.round(((Number.isFinite(core()) ? core() : 0) + Number(step.dataset.step)) * 10) / 10;
      $("core").value = String(next);
      change((all) => { all.core = String(next); });
    });
  }
  $("take-core").addEventListener("click", () => {
    const read = core();
    const celsius = us ? (read - 32) / 1.8 : read;
    if ($("core").value.trim() === "" || !(celsius >= -5 && celsius <= 110)) { tell("It takes a core in °" + DEGREE + ", between " + (us ? "23 and 230" : "-5 and 110") + "."); $("core").focus(); return; }
    const text = String(read);
    change((all) => { all.core = text; });
    write("core", text + DEGREE + (state.place ? " " + state.place : ""));
  });
  $("another-form").addEventListener("submit", (submitted) => {
    submitted.preventDefault();
    const name = flat($("another-name").value);
    if (!name) { tell("It takes a name."); return; }
    $("another-name").value = "";
    $("another").open = false;
    change((all) => { if (!all.cooks.includes(name)) all.cooks.push(name); all.cook = name; });
  });
  $("undo").addEventListener("click", () => { const back = undo; if (back) back(); });
  const shared = () => new File([exported()], "pit-export.txt", { type: "text/plain" });
  if (typeof navigator.share === "function") {
    $("share").hidden = false;
    $("share").addEventListener("click", async () => {
      const files = [shared()];
      const whole = navigator.canShare?.({ files }) ? { files } : { text: exported() };
      try { await navigator.share(whole); wasExported(); } catch (error) { if (error.name !== "AbortError") tell("Sharing did not work; copy it or save a file."); }
    });
  }
  $("copy").addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(exported());
    } catch {
      $("text").select();
      if (!document.execCommand("copy")) { tell("Copying did not work: the text below is marked, copy it by hand."); return; }
    }
    wasExported();
    tell("Copied.");
  });
  $("save").addEventListener("click", () => {
    const address = URL.createObjectURL(shared());
    const link = make("a", undefined, { href: address, download: "pit-export.txt" });
    link.click();
    setTimeout(() => URL.revokeObjectURL(address), 60000);
    wasExported();
    tell("Saved as pit-export.txt.");
  });
  $("clear").addEventListener("click", () => {
    const before = state.events;
    change((all) => { all.events = []; all.exported = null; });
    tell("Cleared.", () => { change((all) => { all.events = before; }); tell("Put back."); });
  });
  addEventListener("storage", (changed) => { if (changed.key === KEY) { state = remembered() ?? state; show(); } });

  state = remembered() ?? state;
  change(() => {});
})();
