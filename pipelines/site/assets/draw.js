// Draws a page's figures from its data: rows by name, and figures by key. charts.js has the charts, in Vega-Lite. A page's
// own script may put functions in sheetloreFigures; each returns what its figure shows, or null to hide the figure.
"use strict";

(function () {
  const page = JSON.parse(document.getElementById("page-data").textContent);
  const data = Object.fromEntries(Object.entries(page.data).map(([name, packed]) => [name, unpacked(packed)]));
  const views = new Map(); // figure's key -> Vega view
  const drawings = new Map(); // figure's key -> promise of its last drawing
  const LINE_HEIGHT = 14;
  let lineLength = 30; // characters in a line of a name
  const choices = new Map(); // select -> its value

  function unpacked({ columns, rows, same }) {
    return rows.map((cells) => ({ ...same, ...Object.fromEntries(cells.map((cell, place) => [columns[place], cell])) }));
  }

  // Returns the chart with each text that begins with @ replaced; a list within a list is flattened.
  function filled(part, put) {
    if (typeof part === "string") return part.startsWith("@") ? (part in put ? put[part] : "") : part;
    if (Array.isArray(part)) return part.flatMap((item) => typeof item === "string" ? filled(item, put) : [filled(item, put)]);
    if (part === null || typeof part !== "object") return part;
    return Object.fromEntries(Object.entries(part).map(([key, value]) => [key, filled(value, put)]));
  }

  // Returns the lines of a name on an axis or in a legend; a word that is longer than a line is broken.
  function wrapped(name) {
    const pattern = new RegExp(`(?=\\S)(?:.{1,${lineLength}}(?=\\s|$)|.{${lineLength}})`, "gu");
    return String(name).match(pattern) || [""];
  }

  // Returns the height of a chart with a line for each name: a step for each, and room for all lines of a name.
  function heightOf(names, step) {
    const different = [...new Set(names)];
    const most = different.reduce((number, name) => Math.max(number, wrapped(name).length), 1);
    return Math.max(1, different.length) * Math.max(step, LINE_HEIGHT * most + 12);
  }

  // Centres the names of several lines at their tick; Vega places the first line there.
  function centred(chart) {
    (chart.axes || []).map((axis) => axis.encode?.labels?.update).forEach((labels) => {
      if (labels?.text?.signal?.startsWith("wrapped(")) labels.dy = { signal: `(1 - length(${labels.text.signal})) * ${LINE_HEIGHT / 2}` };
    });
    return chart;
  }

  function namesOfData(part, found = new Set()) {
    if (part === null || typeof part !== "object") return found;
    if (part.data && part.data.name) found.add(part.data.name);
    Object.values(part).forEach((value) => namesOfData(value, found));
    return found;
  }

  // Returns what a figure shows. With several choices on a page, each applies to the figures that have a variant of its value.
  function shownIn(key) {
    const own = window.sheetloreFigures && window.sheetloreFigures[key];
    if (own) return own();
    const { chart, variants } = page.figures[key];
    const chosen = [...choices.values()].find((value) => Object.hasOwn(variants, value));
    return { chart, datasets: data, ...variants[chosen === undefined ? Object.keys(variants)[0] : chosen] };
  }

  function placeOf(key) {
    return document.querySelector(`[data-figure="${CSS.escape(key)}"]`);
  }

  // Writes the title and the note of what a figure shows now.
  function describe(key, shown = shownIn(key)) {
    const place = placeOf(key);
    place.querySelector(".finding").textContent = shown.title;
    const note = place.querySelector(".note");
    const hint = document.createElement("span"); // how to use the chart; not printed
    hint.className = "hint";
    hint.textContent = shown.hint ? ` ${shown.hint}` : "";
    note.replaceChildren(shown.note, hint);
    note.hidden = !shown.note && !shown.hint;
    const svg = place.querySelector(".chart svg");
    if (svg) svg.setAttribute("aria-label", shown.title);
  }

  // Draws a figure after its current drawing has ended.
  function draw(key) {
    const drawing = (drawings.get(key) || Promise.resolve()).then(() => drawNow(key));
    drawings.set(key, drawing);
    return drawing;
  }

  async function drawNow(key) {
    const shown = shownIn(key);
    const place = placeOf(key);
    place.hidden = shown === null;
    if (views.has(key)) views.get(key).finalize();
    views.delete(key);
    if (shown === null) return;
    const spec = filled(window.sheetloreCharts[shown.chart], shown.put);
    spec.datasets = Object.fromEntries([...namesOfData(spec)].map((name) => [name, shown.datasets[name] || []]));
    const chart = place.querySelector(".chart");
    lineLength = chart.clientWidth < 560 ? 16 : 30;
    const { lines } = spec.usermeta;
    if (lines) spec.height = heightOf(spec.datasets[lines.data].map((row) => row[lines.field]), shown.step || lines.step);
    // logLevel 1: errors only; an empty chart needs no warning
    const { view } = await vegaEmbed(chart, spec, {
      actions: false, defaultStyle: false, logLevel: 1, renderer: "svg", expressionFunctions: { wrapped }, patch: centred,
      tooltip: { theme: "custom", disableDefaultStyle: true },
    });
    const svg = chart.querySelector("svg");
    svg.setAttribute("role", "img");
    [...svg.children].forEach((part) => part.setAttribute("aria-hidden", "true")); // a brush's marks have no names
    views.set(key, view);
    describe(key, shown);
    showData(place, page.figures[key], shown);
    if (shown.drawn) shown.drawn(view);
  }

  // Fills the table of a chart's data from the drawn rows while it is open.
  function showData(place, { behind }, { datasets, put }) {
    const fold = place.querySelector("[data-behind]");
    if (!fold) return;
    fold.ontoggle = () => {
      if (!fold.open) return;
      const where = Object.entries(filled(behind.where, put));
      const rows = datasets[behind.data].filter((row) => where.every(([field, of]) => of.includes(row[field])));
      const columns = behind.columns.map((column) => column.map((text) => filled(text, put)));
      fold.lastElementChild.replaceChildren(window.sheetloreTableOf(columns, rows, behind.uncertainty));
    };
    fold.ontoggle();
  }

  // Draws a figure when it comes into view, so that a page with many charts loads quickly.
  function drawInSight() {
    const keys = Object.keys(page.figures);
    const watcher = new IntersectionObserver((entries) => entries.forEach((entry) => {
      if (!entry.isIntersecting) return;
      watcher.unobserve(entry.target);
      draw(entry.target.dataset.figure);
    }), { rootMargin: "600px" });
    keys.forEach((key) => watcher.observe(placeOf(key)));
    window.addEventListener("beforeprint", () => keys.filter((key) => !drawings.has(key)).forEach(draw));
  }

  // Redraws every figure that was drawn before.
  const redraw = () => Promise.all([...drawings.keys()].map(draw));

  document.querySelectorAll("select#choice, select[data-choice]").forEach((choice) => {
    choices.set(choice, choice.value); // the browser may have restored an earlier choice
    choice.addEventListener("change", () => { choices.set(choice, choice.value); redraw(); });
  });

  window.sheetlorePage = { data, page, views, drawings, draw, redraw, describe };
  document.addEventListener("DOMContentLoaded", drawInSight); // after the page's own script
})();
