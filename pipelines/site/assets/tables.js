// Sorts tables by a click on a column's heading, numbers as numbers and missing values last; and makes the
// tables of a chart's data.
"use strict";

(function () {
  const MISSING = "–";
  const ROWS_AT_MOST = 500;

  function sortable(table) {
    const body = table.tBodies[0];
    if (!body || body.rows.length < 2) return;
    [...table.tHead.rows[0].cells].forEach((head, place) => {
      if (!head.textContent.trim()) return;
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const up = head.getAttribute("aria-sort") !== "ascending";
        [...head.parentNode.cells].forEach((other) => other.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
        const numbers = head.classList.contains("number");
        const rows = [...body.rows].map((row) => ({ row, key: keyOf(row.cells[place], numbers) }));
        rows.sort((one, other) => compare(one.key, other.key, up));
        body.append(...rows.map(({ row }) => row));
      });
    });
  }

  function keyOf(cell, numbers) {
    const text = cell.textContent.trim();
    if (text === "" || text === MISSING) return null;
    return numbers ? parseFloat(text.replace(/[\s\u202f]/g, "").replace("−", "-")) : text;
  }

  function compare(one, other, up) {
    if (one === null || other === null) return (one === null) - (other === null);
    const order = typeof one === "number" ? one - other : one.localeCompare(other, "en", { numeric: true });
    return up ? order : -order;
  }

  // Returns a table of rows; columns are pairs of field and heading. A long table is cut, with a note. Numbers of a
  // column have the same decimals; uncertainty names, for some fields, the field that sets them.
  function tableOf(columns, rows, uncertainty = {}) {
    const table = document.createElement("table");
    const formats = columns.map(([field]) => formatOf(field, rows, uncertainty[field]));
    const head = table.createTHead().insertRow();
    columns.forEach(([, heading], place) => {
      const cell = document.createElement("th");
      cell.scope = "col";
      cell.textContent = heading;
      cell.classList.toggle("number", formats[place] !== null);
      head.append(cell);
    });
    const body = table.createTBody();
    rows.slice(0, ROWS_AT_MOST).forEach((row) => {
      const line = body.insertRow();
      columns.forEach(([field], place) => {
        const cell = line.insertCell();
        const value = row[field];
        cell.textContent = formats[place] && typeof value === "number" ? formats[place](value) : shown(value);
        cell.classList.toggle("number", formats[place] !== null);
      });
    });
    if (rows.length > ROWS_AT_MOST) {
      table.createCaption().textContent = `The first ${ROWS_AT_MOST} of ${rows.length} rows; the snapshot has all.`;
    }
    sortable(table);
    return table;
  }

  // Returns the function that formats the numbers of a field; null for a field without numbers.
  function formatOf(field, rows, uncertainty) {
    const values = rows.map((row) => row[field]);
    if (!values.some((value) => typeof value === "number")) return null;
    const { decimals, fixed } = window.sheetloreNumbers;
    const smallest = Math.min(...rows.map((row) => row[uncertainty]).filter((value) => value > 0)); // of the directions
    const places = decimals(values, smallest);
    return (value) => fixed(value, places);
  }

  function shown(value) {
    if (value === null || value === undefined || value === "") return MISSING;
    return typeof value === "boolean" ? (value ? "yes" : "no") : value;
  }

  window.sheetloreTableOf = tableOf;
  document.querySelectorAll("table[data-sortable]").forEach(sortable);
})();
