// Draws a page's figures from its data, and links them: what is chosen in one chart or in a table of sheets is chosen
// in all. The page's data are rows by name and figures by key; charts.js has the charts, in Vega-Lite.
"use strict";

(function () {
  const page = JSON.parse(document.getElementById("page-data").textContent);
  const data = Object.fromEntries(Object.entries(page.data).map(([name, packed]) => [name, unpacked(packed)]));
  const views = new Map(); // figure's key -> Vega view
  const state = { choices: new Map(), hidden: new Set(), chosen: [] };

  function unpacked({ columns, rows }) {
    return rows.map((cells) => Object.fromEntries(cells.map((cell, place) => [columns[place], cell])));
  }

  // Returns the chart with each text that begins with @ replaced by what the figure puts in.
  function filled(part, put) {
    if (typeof part === "string") return part.startsWith("@") ? (part in put ? put[part] : "") : part;
    if (Array.isArray(part)) return part.map((item) => filled(item, put));
    if (part === null || typeof part !== "object") return part;
    return Object.fromEntries(Object.entries(part).map(([key, value]) => [key, filled(value, put)]));
  }

  function shown(rows) {
    return state.hidden.size ? rows.filter((row) => !state.hidden.has(row[page.filter])) : rows;
  }

  function namesOfData(part, found = new Set()) {
    if (part === null || typeof part !== "object") return found;
    if (part.data && part.data.name) found.add(part.data.name);
    Object.values(part).forEach((value) => namesOfData(value, found));
    return found;
  }

  // Of several choices on a page, each governs the figures that have a variant of its value.
  function variantOf({ variants }) {
    const chosen = [...state.choices.values()].find((value) => Object.hasOwn(variants, value));
    return variants[chosen === undefined ? Object.keys(variants)[0] : chosen];
  }

  async function draw(key) {
    const figure = page.figures[key];
    const place = document.querySelector(`[data-figure="${CSS.escape(key)}"]`);
    const variant = variantOf(figure);
    place.querySelector(".finding").textContent = variant.title;
    const note = place.querySelector(".note");
    note.textContent = variant.note;
    note.hidden = !variant.note;
    const spec = filled(window.sheetloreCharts[figure.chart], variant.put);
    spec.datasets = Object.fromEntries(
      [...namesOfData(spec)].map((name) => [name, shown(data[name] || [])]));
    const lines = spec.usermeta.lines;
    if (lines) {
      const count = new Set(spec.datasets[lines.data].map((row) => row[lines.field])).size;
      spec.height = Math.max(1, count) * lines.step;
    }
    const chart = place.querySelector(".chart");
    // logLevel 1: errors only; that nothing is drawn of empty data needs no warning
    const { view } = await vegaEmbed(chart, spec, {
      actions: false, defaultStyle: false, logLevel: 1, renderer: "svg", tooltip: { theme: "custom", disableDefaultStyle: true },
    });
    const svg = chart.querySelector("svg");
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", variant.title);
    [...svg.children].forEach((part) => part.setAttribute("aria-hidden", "true")); // a brush's marks have no names
    views.set(key, view);
    tellBehind(place, figure, variant.put);
    if (hasSignal(view, "chosen")) view.signal("chosen", state.chosen).run();
    if (hasSignal(view, "brush")) view.addSignalListener("brush", (_, intervals) => brushed(spec, intervals));
  }

  // Makes the table behind a chart while it is open, of the rows that are drawn.
  function tellBehind(place, { behind }, put) {
    const fold = place.querySelector("[data-behind]");
    if (!fold) return;
    fold.ontoggle = () => {
      if (!fold.open) return;
      const where = Object.entries(filled(behind.where, put));
      const rows = shown(data[behind.data]).filter((row) => where.every(([field, of]) => of.includes(row[field])));
      fold.lastElementChild.replaceChildren(window.sheetloreTableOf(filled(behind.columns, put), rows));
    };
    fold.ontoggle();
  }

  function hasSignal(view, name) {
    return Object.prototype.hasOwnProperty.call(view.getState({ signals: () => true }).signals, name);
  }

  // The sheets whose marks lie in the interval that was drawn: the fields' limits come with the signal.
  function brushed(spec, intervals) {
    const fields = Object.entries(intervals).filter(([, limits]) => Array.isArray(limits));
    if (!fields.length) return choose([]);
    const inside = (row) => fields.every(([field, [low, high]]) =>
      row[field] !== null && row[field] >= Math.min(low, high) && row[field] <= Math.max(low, high));
    const rows = brushedRows(spec).filter(inside);
    return choose([...new Set(rows.map((row) => row.sheet_id))]);
  }

  // The rows that a brush goes over: usermeta of the chart names their data and what they must be equal to.
  function brushedRows({ datasets, usermeta: { brushes } }) {
    return datasets[brushes.data].filter((row) =>
      Object.entries(brushes.where).every(([field, values]) => values.includes(row[field])));
  }

  function choose(sheets) {
    if (sheets.length === state.chosen.length && sheets.every((sheet, place) => sheet === state.chosen[place])) return;
    state.chosen = sheets;
    views.forEach((view) => { if (hasSignal(view, "chosen")) view.signal("chosen", sheets).runAsync(); });
    const chosen = new Set(sheets);
    document.querySelectorAll("table[data-sheets] tbody tr").forEach((row) => {
      const is = chosen.has(row.dataset.key);
      row.classList.toggle("chosen", is);
      row.classList.toggle("pale", chosen.size > 0 && !is);
      row.querySelector("input").checked = is;
    });
    const told = document.getElementById("chosen-count");
    if (told) told.textContent = sheets.length ? `${sheets.length} chosen` : "none chosen, all drawn full";
    const clear = document.getElementById("clear-choice");
    if (clear) clear.disabled = !sheets.length;
  }

  // Drawn when it comes into sight, the first ones at once: a page with many charts is there quickly.
  function drawInSight() {
    const keys = Object.keys(page.figures);
    const watcher = new IntersectionObserver((entries) => entries.forEach((entry) => {
      if (!entry.isIntersecting) return;
      watcher.unobserve(entry.target);
      draw(entry.target.dataset.figure);
    }), { rootMargin: "600px" });
    keys.forEach((key) => watcher.observe(document.querySelector(`[data-figure="${CSS.escape(key)}"]`)));
    window.addEventListener("beforeprint", () => keys.filter((key) => !views.has(key)).forEach(draw));
  }

  const again = () => Promise.all([...views.keys()].map(draw));

  document.querySelectorAll("select#choice, select[data-choice]").forEach((choice) => {
    state.choices.set(choice, choice.value); // a browser may have kept what was chosen before
    choice.addEventListener("change", () => { state.choices.set(choice, choice.value); again(); });
  });
  document.querySelectorAll("input[data-filter]").forEach((box) => {
    const apply = () => {
      state.hidden[box.checked ? "delete" : "add"](box.value);
      document.querySelectorAll(`table [data-group="${CSS.escape(box.value)}"]`).forEach((row) => {
        row.hidden = !box.checked;
      });
    };
    if (!box.checked) apply();
    box.addEventListener("change", () => { apply(); again(); });
  });
  document.querySelectorAll("table[data-sheets] tbody").forEach((body) => {
    body.addEventListener("change", () => choose(
      [...body.querySelectorAll("input:checked")].map((box) => box.closest("tr").dataset.key)));
  });
  const clear = document.getElementById("clear-choice");
  if (clear) clear.addEventListener("click", () => { choose([]); again(); });

  window.sheetlorePage = { data, page, state, views, draw, choose }; // for the console, and for tests
  drawInSight();
})();
