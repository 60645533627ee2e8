// Says how old the page is. night.js, which every night writes anew, calls sheetloreNight: what the page was made from,
// and when that was last known to be all there is.
"use strict";

const DAY_MS = 24 * 3600 * 1000;

window.sheetloreNight = function ({ snapshot, checked_at_utc: checkedAt }) {
  const checked = new Date(checkedAt);
  const hours = Math.floor((Date.now() - checked) / 3600000);
  document.getElementById("as-of").textContent =
    `As of ${checked.toISOString().slice(0, 16).replace("T", " ")}, from ${snapshot}.`;
  if (Date.now() - checked <= DAY_MS) return;
  const age = document.getElementById("age");
  const told = hours < 48 ? `${hours} hours` : `${Math.floor(hours / 24)} days`;
  age.textContent = `This page is ${told} old: the night run did not end well since, or did not run. ` +
    "What came in later is not in it.";
  age.hidden = false;
};
