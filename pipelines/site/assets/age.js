// Shows how old the page is. Every run writes night.js, which calls sheetloreNight with the snapshot that the pages were
// built from and the time of the last check for new files.
"use strict";

const DAY_MS = 24 * 3600 * 1000;

// A time in the laboratory's zone, as 2026-10-01 06:30; in UTC where the browser does not know the zone.
function localText(time) {
  const parts = { year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit" };
  try {
    const timeZone = document.documentElement.dataset.timeZone;
    return new Intl.DateTimeFormat("sv-SE", { ...parts, timeZone }).format(time);
  } catch {
    return `${time.toISOString().slice(0, 16).replace("T", " ")} UTC`;
  }
}

window.sheetloreNight = function ({ snapshot, checked_at_utc: checkedAt }) {
  const checked = new Date(checkedAt);
  const hours = Math.floor((Date.now() - checked) / 3600000);
  document.getElementById("as-of").textContent = `As of ${localText(checked)}, from ${snapshot}.`;
  if (Date.now() - checked <= DAY_MS) return;
  const age = document.getElementById("age");
  const howOld = hours < 48 ? `${hours} hours` : `${Math.floor(hours / 24)} days`;
  age.textContent = `This page is ${howOld} old: no run has completed since. Files that arrived later are not in it.`;
  age.hidden = false;
};
