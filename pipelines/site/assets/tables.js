// Lets a table with data-sortable be sorted by the heads of its columns: numbers as numbers, what is missing last.
"use strict";

document.querySelectorAll("table[data-sortable]").forEach((table) => {
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

  function keyOf(cell, numbers) {
    const text = cell.textContent.trim();
    if (text === "" || text === "–") return null;
    return numbers ? parseFloat(text.replace(/[\s\u202f]/g, "").replace("−", "-")) : text;
  }

  function compare(one, other, up) {
    if (one === null || other === null) return (one === null) - (other === null);
    const order = typeof one === "number" ? one - other : one.localeCompare(other, "en", { numeric: true });
    return up ? order : -order;
  }
});
