// A search field shows only the rows of an element that contain all its words, in any case and with any accents. Rows are
// those of tables, or elements with data-entry. An element with data-holder is hidden when none of its rows is shown, one
// with data-unfiltered while the field has words. A link to a hidden row shows all rows again.
"use strict";

document.querySelectorAll("input[data-filter-rows]").forEach((field) => {
  const name = field.dataset.filterRows;
  const around = document.getElementById(name);
  const countText = document.getElementById(`${name}-count`);
  const rows = [...around.querySelectorAll("[data-entry], table:not(:has([data-entry])) > tbody > tr")]
    .map((row) => ({ row, text: folded(`${row.dataset.entry || ""} ${row.textContent}`) }));
  const holders = [...around.querySelectorAll("[data-holder]")];

  function folded(text) {
    return text.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
  }

  function narrow() {
    const words = folded(field.value).split(/\s+/).filter(Boolean);
    let left = 0;
    rows.forEach(({ row, text }) => {
      row.hidden = !words.every((word) => text.includes(word));
      left += !row.hidden;
    });
    const has = new Set(rows.filter(({ row }) => !row.hidden).flatMap(({ row }) => holdersOf(row)));
    holders.forEach((holder) => { holder.hidden = !has.has(holder); });
    document.querySelectorAll("[data-unfiltered]").forEach((list) => { list.hidden = words.length > 0; });
    countText.textContent = words.length ? `${left} of ${rows.length}` : "";
  }

  function holdersOf(row) {
    return holders.filter((holder) => holder.contains(row));
  }

  function reveal() {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target || target.offsetParent !== null) return;
    field.value = "";
    narrow();
    target.scrollIntoView();
  }

  field.closest("form, .controls").hidden = false;
  field.addEventListener("input", narrow);
  window.addEventListener("hashchange", reveal);
  narrow(); // the browser may have restored an earlier text
});
