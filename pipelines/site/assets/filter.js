// Lets a search field hide the rows of a table that have not all of its words, whatever their case and accents. The
// field names the element around the table; the element of that name with -told says how many rows are left.
"use strict";

document.querySelectorAll("input[data-filter-rows]").forEach((field) => {
  const around = field.dataset.filterRows;
  const rows = [...document.getElementById(around).querySelectorAll("tbody tr")];
  const told = document.getElementById(`${around}-told`);
  const texts = rows.map((row) => folded(row.textContent));

  function folded(text) {
    return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
  }

  function apply() {
    const words = folded(field.value).split(/\s+/).filter(Boolean);
    let left = 0;
    rows.forEach((row, place) => {
      row.hidden = !words.every((word) => texts[place].includes(word));
      if (!row.hidden) left += 1;
    });
    told.textContent = words.length ? `${left} of ${rows.length} rows` : "";
  }

  field.addEventListener("input", apply);
  apply(); // a browser may have kept what was typed before
});
