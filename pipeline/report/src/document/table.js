// Sorting and filtering of the marked tables. Without this script every row is there, in its order.
"use strict";
for (const box of document.querySelectorAll("[data-sortable]")) {
  const tables = [...box.querySelectorAll("table")];
  const bodies = tables.map((table) => table.tBodies[0]);
  const sizes = bodies.map((body) => body.rows.length);
  const parts = [...box.querySelectorAll("details")];
  const original = bodies.flatMap((body) => [...body.rows]);
  let texts = null;
  let column = -1;
  let down = false;

  // A number with a true minus and set-apart thousands; what is missing comes last either way.
  const key = (row, index) => {
    const text = row.cells[index].firstChild?.textContent.trim() ?? "";
    const digits = text.replace(/[≥\s\u00a0\u202f]/g, "").replace("\u2212", "-");
    if (digits === "" || digits === "–") return null;
    const number = Number(digits);
    return Number.isFinite(number) ? number : text.toLowerCase();
  };
  const compare = (a, b) => {
    if (a === null || b === null) return (a === null) - (b === null);
    const order = typeof a === "number" && typeof b === "number" ? a - b : String(a).localeCompare(String(b));
    return down ? -order : order;
  };
  const say = document.createElement("output");
  const filter = document.createElement("input");
  function arrange() {
    const words = filter.value.toLowerCase().split(/\s+/).filter(Boolean);
    if (words.length) texts ??= original.map((row) => row.textContent.toLowerCase());
    let rows = original.filter((_, place) => words.every((word) => texts[place].includes(word)));
    const shown = rows.length;
    if (column >= 0) {
      const keyed = rows.map((row) => [key(row, column), row]);
      keyed.sort((a, b) => compare(a[0], b[0]));
      rows = keyed.map((pair) => pair[1]);
    }
    bodies.forEach((body, part) => {
      const own = rows.splice(0, sizes[part]);
      body.replaceChildren(...own);
      const fold = body.closest("details");
      if (fold && box.contains(fold)) fold.hidden = own.length === 0;
    });
    say.textContent = words.length ? `${shown} of ${original.length} rows` : "";
    if (words.length) for (const part of parts) part.open = !part.hidden && shown <= 2 * sizes[0];
    for (const table of tables) {
      [...table.tHead.rows[0].cells].forEach((head, index) => {
        if (index === column) head.setAttribute("aria-sort", down ? "descending" : "ascending");
        else head.removeAttribute("aria-sort");
      });
    }
  }
  for (const table of tables) {
    [...table.tHead.rows[0].cells].forEach((head, index) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      button.addEventListener("click", () => {
        down = column === index && !down;
        column = index;
        arrange();
      });
      head.append(button);
    });
  }
  const label = document.createElement("label");
  filter.type = "search";
  label.append("Show rows with ", filter);
  filter.addEventListener("input", arrange);
  const bar = document.createElement("p");
  bar.className = "filter";
  bar.append(label, " ", say);
  box.prepend(bar);
}
