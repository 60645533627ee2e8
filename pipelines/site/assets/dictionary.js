// Narrows the page of tables down to the entries in which every word sought stands: in the name of the table, or in
// anything that is said of the column.
"use strict";

(function () {
  const form = document.getElementById("filter");
  const field = document.getElementById("sought");
  const found = document.getElementById("found");
  const entries = [...document.querySelectorAll("[data-entry]")].map((row) => ({
    row,
    text: `${row.dataset.entry} ${row.textContent}`.toLowerCase(),
  }));
  const holders = [...document.querySelectorAll("[data-entries], [data-group]")];

  function narrow() {
    const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    entries.forEach(({ row, text }) => {
      row.hidden = !words.every((word) => text.includes(word));
      count += !row.hidden;
    });
    holders.forEach((holder) => {
      holder.hidden = !holder.querySelector("[data-entry]:not([hidden])");
    });
    document.getElementById("contents").hidden = words.length > 0;
    found.textContent = words.length ? `${count} of ${entries.length}` : "";
  }

  // A link to what the filter hides shows it again.
  function reveal() {
    const target = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!target || target.offsetParent !== null) return;
    field.value = "";
    narrow();
    target.scrollIntoView();
  }

  form.hidden = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  field.addEventListener("input", narrow);
  window.addEventListener("hashchange", reveal);
  narrow();
})();
