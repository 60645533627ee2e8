// The table of all sheets: its controls, its rows, and the view in the address of the page. A view is the search, the
// filters, the order, the page of the table and the columns; the script shows everything from the view.
"use strict";

(function () {
  const { count, columns, named, rowsOf, textOf, visible, csvOf, prepare } = window.sheetloreRows;
  const numberText = (number) => window.sheetloreNumbers.fixed(number, 0);
  const ROWS_AT_ONCE = 100;
  const ROWS_ON_PAPER = 2000;
  let rowsAtOnce = ROWS_AT_ONCE;
  const shownFirst = columns.filter(({ shown }) => shown).map(({ name }) => name);
  const numbers = columns.filter(({ kind }) => kind === "number");
  const all = () => ({
    words: "", trial: "", from: "", to: "", ranges: [], sort: "formed_at_utc", descending: true, part: 1, shown: shownFirst,
  });
  const at = (id) => document.getElementById(id);
  let view = all();
  let matching = [];

  // --- the view in the address: only differences from the default view, and only names of the table

  function fromAddress() {
    const parameters = new URLSearchParams(location.hash.slice(1));
    const read = all();
    for (const name of ["words", "trial", "from", "to"]) read[name] = parameters.get(name) || "";
    read.ranges = parameters.getAll("range").map((text) => text.split(":"))
      .filter(([column]) => named.has(column) && named.get(column).kind === "number")
      .map(([column, low, high]) => ({ column, low: numberOr(low), high: numberOr(high) }));
    const sort = parameters.get("sort") || "";
    if (named.has(sort.replace(/^-/, ""))) {
      read.sort = sort.replace(/^-/, "");
      read.descending = sort.startsWith("-");
    }
    const shown = (parameters.get("columns") || "").split(",").filter((name) => named.has(name));
    if (shown.length) read.shown = inOrder(shown);
    read.part = Math.max(1, Math.floor(numberOr(parameters.get("part")) || 1));
    return read;
  }

  function toAddress() {
    const plain = all();
    const parameters = new URLSearchParams();
    for (const name of ["words", "trial", "from", "to"]) if (view[name]) parameters.set(name, view[name]);
    view.ranges.forEach(({ column, low, high }) => parameters.append("range", [column, low, high].map((part) => part ?? "").join(":")));
    if (view.sort !== plain.sort || view.descending !== plain.descending) {
      parameters.set("sort", (view.descending ? "-" : "") + view.sort);
    }
    if (view.part > 1) parameters.set("part", view.part);
    if (view.shown.join() !== plain.shown.join()) parameters.set("columns", view.shown.join());
    history.replaceState(null, "", `#${parameters}`);
  }

  // Waits for a pause, because browsers refuse an address that changes at every keystroke.
  let waiting;
  function scheduleAddress() {
    clearTimeout(waiting);
    waiting = setTimeout(toAddress, 250);
  }

  function numberOr(text) {
    const value = text === null || text === undefined || text.trim() === "" ? NaN : Number(text);
    return Number.isFinite(value) ? value : null;
  }

  const inOrder = (names) => columns.map(({ name }) => name).filter((name) => names.includes(name));

  // --- the table

  function element(tag, text, className) {
    const made = document.createElement(tag);
    if (text !== undefined) made.textContent = text;
    if (className) made.className = className;
    return made;
  }

  const LONG = 40; // length from which a text wraps in any column
  const classOf = ({ kind, long }, text = "") => (long || (kind === "text" && text.length > LONG) ? "long" : kind);

  // Filters, sorts and shows the rows; ``change`` has the changed parts of the view.
  function show(change) {
    view = { ...view, part: 1, ...change };
    matching = rowsOf(view);
    showPart();
  }

  function showPart() {
    const parts = Math.max(1, Math.ceil(matching.length / rowsAtOnce));
    view.part = Math.min(view.part, parts);
    const first = (view.part - 1) * rowsAtOnce;
    const rows = matching.slice(first, first + rowsAtOnce);
    at("sheets").tBodies[0].replaceChildren(...rows.map(rowOf));
    const of = matching.length === count ? `${numberText(count)} sheets` :
      `${numberText(matching.length)} that match, of ${numberText(count)} sheets`;
    at("count").textContent = rows.length ?
      `Rows ${numberText(first + 1)}–${numberText(first + rows.length)} of ${of}` :
      count ? `No sheet matches, of ${numberText(count)}` : "No sheets";
    at("part").textContent = `${numberText(view.part)} of ${numberText(parts)}`;
    // not "disabled", which would move the keyboard focus away from the button just pressed
    const ends = { first: view.part === 1, previous: view.part === 1, next: view.part === parts, last: view.part === parts };
    Object.entries(ends).forEach(([turn, ended]) =>
      document.querySelector(`[data-turn="${turn}"]`).setAttribute("aria-disabled", ended));
    scheduleAddress();
  }

  function rowOf(row) {
    const line = element("tr");
    view.shown.forEach((name, place) => {
      const column = named.get(name);
      const text = textOf(column, row);
      const cell = element(place ? "td" : "th", undefined, classOf(column, text));
      if (!place) cell.scope = "row";
      if (column.pages) {
        const link = element("a", text);
        link.href = column.pages[column.places[row]];
        cell.append(link);
      } else {
        cell.textContent = text;
      }
      line.append(cell);
    });
    return line;
  }

  function showHeads() {
    at("sheets").tHead.rows[0].replaceChildren(...view.shown.map((name) => {
      const column = named.get(name);
      const head = element("th", undefined, classOf(column));
      head.scope = "col";
      const button = element("button", column.heading);
      button.type = "button";
      button.addEventListener("click", () => {
        show({ sort: name, descending: view.sort === name && !view.descending });
        markSorted();
      });
      head.append(button);
      return head;
    }));
    markSorted();
  }

  function markSorted() {
    [...at("sheets").tHead.rows[0].cells].forEach((head, place) => {
      if (view.shown[place] !== view.sort) head.removeAttribute("aria-sort");
      else head.setAttribute("aria-sort", view.descending ? "descending" : "ascending");
    });
  }

  // --- controls

  function showRanges() {
    at("ranges").replaceChildren(...view.ranges.map(rangeControls));
  }

  function rangeControls({ column, low, high }) {
    const controls = at("range").content.firstElementChild.cloneNode(true);
    const part = (name) => controls.querySelector(`[data-${name}]`);
    part("column").append(...numbers.map(({ name, heading }) => new Option(heading, name)));
    part("column").value = column;
    part("low").value = low ?? "";
    part("high").value = high ?? "";
    controls.addEventListener("input", () => show({ ranges: rangesOfControls() }));
    part("remove").addEventListener("click", () => {
      controls.remove();
      show({ ranges: rangesOfControls() });
      at("add-range").focus();
    });
    return controls;
  }

  function rangesOfControls() {
    return [...at("ranges").children].map((controls) => {
      const value = (name) => controls.querySelector(`[data-${name}]`).value;
      return { column: value("column"), low: numberOr(value("low")), high: numberOr(value("high")) };
    });
  }

  function columnBox({ name, heading }) {
    const label = element("label");
    const box = element("input");
    box.type = "checkbox";
    box.value = name;
    box.autocomplete = "off";
    label.append(box, ` ${heading}`);
    return label;
  }

  const columnBoxes = () => [...at("columns").querySelectorAll("input")];

  // Applies a view: sets every control to it and shows its rows.
  function apply(newView) {
    view = newView;
    for (const name of ["words", "trial", "from", "to"]) at(name).value = view[name];
    columnBoxes().forEach((box) => { box.checked = view.shown.includes(box.value); });
    showRanges();
    showHeads();
    show({ part: view.part });
  }

  function download() {
    const link = element("a");
    link.href = URL.createObjectURL(new Blob([csvOf(matching, view.shown)], { type: "text/csv;charset=utf-8" }));
    link.download = "sheets.csv";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  function begin() {
    at("trial").append(...[...named.get("trial").texts].sort(new Intl.Collator("en", { numeric: true }).compare)
      .map((trial) => new Option(visible(trial), trial)));
    at("columns").append(...columns.map(columnBox));
    for (const name of ["words", "trial", "from", "to"]) {
      at(name).addEventListener("input", () => show({ [name]: at(name).value }));
    }
    at("words").addEventListener("focus", prepare, { once: true });
    at("add-range").addEventListener("click", () => {
      const added = rangeControls({ column: "grammage_g_m2", low: null, high: null });
      at("ranges").append(added);
      show({ ranges: rangesOfControls() });
      added.querySelector("select").focus();
    });
    at("columns").addEventListener("input", () => {
      const shown = columnBoxes().filter((box) => box.checked).map((box) => box.value);
      view.shown = shown.length ? shown : [columns[0].name];
      showHeads();
      showPart();
    });
    at("clear").addEventListener("click", () => apply({ ...all(), shown: view.shown }));
    at("download").addEventListener("click", download);
    document.querySelectorAll("[data-turn]").forEach((button) => button.addEventListener("click", () => {
      const parts = Math.ceil(matching.length / rowsAtOnce);
      view.part = Math.max(1, Math.min(parts, {
        first: 1, previous: view.part - 1, next: view.part + 1, last: parts,
      }[button.dataset.turn]));
      showPart();
    }));
    window.addEventListener("hashchange", () => apply(fromAddress()));
    [["beforeprint", ROWS_ON_PAPER], ["afterprint", ROWS_AT_ONCE]].forEach(([event, rows]) =>
      window.addEventListener(event, () => { rowsAtOnce = rows; showPart(); }));
    at("view").hidden = false;
    apply(fromAddress());
  }

  begin();
})();
