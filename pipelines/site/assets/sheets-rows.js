// The rows of all sheets: filtering, sorting, the text of cells, and CSV. A row is given by its index; sheets-data.js
// has the columns. This script does not access the document.
"use strict";

window.sheetloreRows = (function () {
  const { count, columns } = window.sheetloreSheets;
  const { fixed } = window.sheetloreNumbers;
  const named = new Map(columns.map((column) => [column.name, column]));
  const DAY_S = 24 * 3600;

  // A cell's value: a text, a number, seconds since 1970, or null.
  function valueOf(column, row) {
    if (column.kind !== "text") return column.values[row];
    const place = column.places[row];
    return place === null ? null : column.texts[place];
  }

  const folded = (text) => text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();

  // All texts of each row, folded for the search; made at the first search, each text folded once.
  const searched = once(() => {
    const parts = columns.filter(({ kind }) => kind === "text")
      .map(({ places, texts }) => ({ places, texts: texts.map(folded) }));
    return Array.from({ length: count }, (_, row) =>
      parts.map(({ places, texts }) => (places[row] === null ? "" : texts[places[row]])).join("\n"));
  });

  function once(make) {
    let made = null;
    return () => (made === null ? (made = make()) : made);
  }

  // The tests that a row must pass to match a view.
  function testsOf({ words, trial, from, to, ranges }) {
    const tests = [];
    const sought = folded(words).split(/\s+/).filter(Boolean);
    if (sought.length) tests.push((row) => sought.every((word) => searched()[row].includes(word)));
    if (trial !== "") {
      const { places, texts } = named.get("trial");
      const place = texts.indexOf(trial);
      tests.push((row) => places[row] === place);
    }
    const days = { column: "formed_at_utc", low: startOf(from), high: startOf(to) };
    if (days.high !== null) days.high += DAY_S - 1;
    [days, ...ranges].forEach(({ column, low, high }) => {
      if (low === null && high === null) return;
      const values = shownValues(named.get(column));
      tests.push((row) => values[row] !== null && (low === null || values[row] >= low) &&
        (high === null || values[row] <= high));
    });
    return tests;
  }

  // Times in the laboratory's local time, as if they were UTC; other values unchanged.
  function shownValues({ values, offsets }) {
    return offsets ? values.map((value, row) => (value === null ? null : value + offsets[row])) : values;
  }

  // The first second of a day such as 2026-10-01, or null.
  function startOf(day) {
    const milliseconds = Date.parse(`${day}T00:00:00Z`);
    return Number.isNaN(milliseconds) ? null : milliseconds / 1000;
  }

  // All rows sorted by a column, missing values last; cached, so that a filter does not sort again.
  const orders = new Map();
  function orderBy(name, descending) {
    const key = `${descending ? "-" : ""}${name}`;
    if (!orders.has(key)) {
      const keys = keysOf(named.get(name));
      const rows = Array.from({ length: count }, (_, row) => row);
      const present = rows.filter((row) => keys[row] !== null);
      const sign = descending ? -1 : 1;
      present.sort((one, other) => sign * (keys[one] - keys[other]));
      orders.set(key, present.concat(rows.filter((row) => keys[row] === null)));
    }
    return orders.get(key);
  }

  // Sort keys: numbers as they are, texts by their rank, with S-9 before S-10.
  function keysOf(column) {
    if (column.kind !== "text") return column.values;
    const { compare } = new Intl.Collator("en", { numeric: true });
    const ranks = [];
    column.texts.map((text, place) => ({ text, place }))
      .sort((one, other) => compare(one.text, other.text))
      .forEach(({ place }, rank) => { ranks[place] = rank; });
    return column.places.map((place) => (place === null ? null : ranks[place]));
  }

  // The rows of a view in its order.
  function rowsOf(view) {
    const tests = testsOf(view);
    return orderBy(view.sort, view.descending).filter((row) => tests.every((test) => test(row)));
  }

  const timeText = (seconds) => new Date(seconds * 1000).toISOString().slice(0, 16).replace("T", " ");

  // Shows invisible characters as dots, as every page does (site/rendering.py).
  const visible = (text) => text.replace(/[\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff]/g, "·");

  // The text of a cell.
  function textOf(column, row) {
    const value = valueOf(column, row);
    if (value === null) return column.kind === "text" ? "" : "–";
    if (column.kind === "number") return fixed(value, column.decimals);
    return column.kind === "time" ? timeText(value + column.offsets[row]) : visible(value);
  }

  // Rows as CSV (RFC 4180): a byte order mark, so that spreadsheets read UTF-8, decimal points, times as ISO 8601 in UTC.
  function csvOf(rows, names) {
    const shown = names.map((name) => named.get(name));
    const lines = [names, ...rows.map((row) => shown.map((column) => csvCell(column, row)))];
    return "\ufeff" + lines.map((cells) => cells.join(",") + "\r\n").join("");
  }

  function csvCell(column, row) {
    const value = valueOf(column, row);
    if (value === null) return "";
    if (column.kind === "number") return String(value);
    if (column.kind === "time") return new Date(value * 1000).toISOString().slice(0, 19) + "Z";
    // Characters that begin a formula in spreadsheets, with their full-width forms.
    const guarded = /^[=+\-@\t\r\n＝＋－＠]/.test(value) ? `'${value}` : value;
    return /[",\r\n]/.test(guarded) ? `"${guarded.replaceAll('"', '""')}"` : guarded;
  }

  return { count, columns, named, rowsOf, textOf, visible, csvOf, prepare: searched };
})();
