// The titles of a trial's figures: each is a true sentence about the rows that are drawn.
// A title names a highest trial point only where its 95 % interval lies above all others, and never one with a single sheet.
"use strict";

(function () {
  const { rounded, interval, range, counted } = window.sheetloreNumbers;
  const NAMED = 3;

  const withUnit = (text, unit) => unit ? `${text} ${unit}` : text;
  const inDirection = (direction) => direction ? ` in ${direction}` : "";
  const part = (shown, all, one, many) => shown < all ? `${rounded0(shown)} of ${counted(all, one, many)}` : counted(all, one, many);
  const rounded0 = (count) => window.sheetloreNumbers.fixed(count, 0);
  const upper = (text) => text[0].toUpperCase() + text.slice(1);

  function listed(names) {
    const more = names.length - NAMED;
    if (more > 1) return `${names.slice(0, NAMED).join(", ")} and ${more} others`;
    return names.length < 2 ? names.join("") : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`;
  }

  function withInterval({ value, half, low, high, u }, unit) {
    const text = withUnit(rounded(value, u), unit);
    return half === null ? text : `${text}, 95 % interval ${range(low, high, u)}`;
  }

  // Trial points: property has name, in_text and unit; means are the rows drawn, of n_shown of n_all trial points.
  function points(property, means, shown, all) {
    const which = part(shown, all, "trial point");
    if (!means.length) return `${property.name}: no mean in ${which}`;
    const directions = [...new Set(means.map((row) => row.direction))];
    if (new Set(means.map((row) => row.trial_point)).size === 1) {
      const values = means.map((row) => `${withInterval(row, property.unit)}${inDirection(row.direction)}`);
      return `${property.name} of ${means[0].trial_point}: ${values.join("; ")}`;
    }
    const claims = directions.map((direction) => claim(property, means.filter((row) => row.direction === direction)))
      .filter((text) => text !== null);
    if (!claims.length) return `${property.name}, ${which}`;
    const text = `${property.in_text}${claims.join(";").replaceAll(";:", ";").replaceAll("; is highest", ";")}`;
    return shown < all ? `Of ${which}, ${text}` : upper(text);
  }

  // Says which trial point is highest in one direction, or that intervals overlap; null where fewer than two have one.
  function claim(property, rows) {
    const compared = rows.filter((row) => row.half !== null);
    if (compared.length < 2) return null;
    const best = compared.reduce((one, other) => other.value > one.value ? other : one);
    const overlapping = compared.filter((row) => row.high >= best.low).sort((one, other) => other.value - one.value);
    const where = inDirection(best.direction);
    if (overlapping.length > 1) {
      return `:${where} the highest is not decided by these data, intervals of ` +
        `${listed(overlapping.map((row) => row.trial_point))} overlap`;
    }
    const others = rows.length > compared.length ? `, of the ${compared.length} trial points with an interval` : "";
    return ` is highest${where} at ${best.trial_point} (${withInterval(best, property.unit)}${others})`;
  }

  // Sheets against an x axis: rows of n_shown sheets; chosen rows are those of the chosen sheets, or all.
  function against(property, axis, rows, chosen, all) {
    const sheetsOf = (some) => new Set(some.map((row) => row.sheet_id)).size;
    const text = `${property.name} against ${axis.in_text}`;
    if (!rows.length) return `${text}: no sheet shown has both`;
    const which = chosen.length < rows.length
      ? `${rounded0(sheetsOf(chosen))} chosen of ${counted(sheetsOf(rows), "sheet")}` : part(sheetsOf(rows), all, "sheet");
    if (!chosen.length) return `${text}, ${which}`;
    const directions = [...new Set(chosen.map((row) => row.direction))];
    const spans = directions.map((direction) => {
      const of = chosen.filter((row) => row.direction === direction);
      return `${withUnit(spanOf(of), property.unit)}${inDirection(direction)}`;
    });
    const at = axis.names ? "" : `, at ${withUnit(rangeOf(chosen.map((row) => row.x)), axis.unit)}`;
    return `${text}, ${which}: ${spans.join(", ")}${at}`;
  }

  const spanOf = (rows) => rangeOf(rows.map((row) => row.value), rows[0].u);

  function rangeOf(values, u = null) {
    return range(Math.min(...values), Math.max(...values), u);
  }

  // MD/CD against the jet-to-wire ratio: a minimum is named only when the fit to all sheets of the trial found one.
  function response(property, fit, rows, chosen, whole) {
    const what = `MD/CD of ${property.in_text}`;
    if (!rows.length) return `${what}: no sheet shown has one and a jet-to-wire ratio`;
    if (chosen.length < rows.length) {
      return chosen.length ? `${what} is ${spanOf(chosen)} in ${chosen.length} chosen of ${counted(rows.length, "sheet")}`
        : `${what}, 0 chosen of ${counted(rows.length, "sheet")}`;
    }
    const spans = `${what} is ${spanOf(rows)} in ${counted(rows.length, "sheet")}`;
    if (!whole) return spans;
    if (!fit || fit.outcome !== "minimum") return `${spans}; no minimum found`;
    if (fit.reason) return `${spans}; the fitted curve does not suit, no minimum stated`;
    const lowest = interval(fit.md_cd_ratio_at_minimum_low, fit.md_cd_ratio_at_minimum_high);
    const half = (fit.md_cd_ratio_at_minimum_high - fit.md_cd_ratio_at_minimum_low) / 2;
    return `${what} is lowest, ${rounded(fit.md_cd_ratio_at_minimum, half)} (95 % interval ${lowest}), at a jet-to-wire ratio of ` +
      `${ratioOfMinimum(fit)}`;
  }

  // Returns the ratio of a minimum with its interval; an end beyond the tried ratios is unknown.
  function ratioOfMinimum(fit) {
    const { minimum_jet_to_wire_ratio: at, minimum_jet_to_wire_ratio_low: low, minimum_jet_to_wire_ratio_high: high } = fit;
    if (low !== null && high !== null) return `${rounded(at, (high - low) / 2)} (95 % interval ${interval(low, high)})`;
    const half = low === null && high === null ? null : Math.abs(at - (low ?? high));
    const end = (value, beyond) => value === null ? beyond : rounded(value, half);
    return `${rounded(at, half)} (95 % interval from ${end(low, "below the lowest tried")} to ${end(high, "above the highest tried")})`;
  }

  // Test pieces: rows drawn; n_without have no value; sheets and pieces are counted of all that are shown, drawn or not.
  function strips(property, rows, { without, sheets, allSheets, allPieces }) {
    const cut = sheets < allSheets;
    const which = cut
      ? `${rounded0(rows.length)} of ${counted(allPieces, "test piece")}, those of the last ${sheets} of ${counted(allSheets, "sheet")}`
      : `${counted(rows.length, "test piece")} of ${counted(sheets, "sheet")}`;
    const leftOut = rows.filter((row) => !row.in_means);
    const missing = without ? `; ${rounded0(without)} without ${property.in_text} not drawn` : "";
    if (!leftOut.length) return `${which}: ${rows.length ? "all drawn count in the means" : "none drawn"}${missing}`;
    return `${which}: ${rounded0(rows.length - leftOut.length)} count in the means, ${rounded0(leftOut.length)} hollow do not ` +
      `(${reasons(leftOut)})${missing}`;
  }

  function reasons(rows) {
    const counts = new Map();
    rows.forEach(({ left_out_because: why }) => {
      const reason = (why || "no reason stated").replaceAll("_", " ").replaceAll(", ", " and ");
      counts.set(reason, (counts.get(reason) || 0) + 1);
    });
    const most = [...counts].sort((one, other) => other[1] - one[1]);
    const named = most.slice(0, NAMED).map(([reason, count]) => `${count} ${reason}`);
    const others = most.slice(NAMED).reduce((sum, [, count]) => sum + count, 0);
    return [...named, ...(others ? [`${others} for other reasons`] : [])].join(", ");
  }

  // Layers: rows drawn, of n_shown of n_all trial points.
  function layers(rows, shown, all) {
    const which = part(shown, all, "trial point");
    if (!rows.length) return `Layers, ${which}: no mass known`;
    const most = rows.reduce((number, row) => Math.max(number, row.layer_no), 0);
    const furnishes = new Set(rows.map((row) => row.furnish).filter(Boolean)).size;
    return `Up to ${counted(most, "layer")} from ${counted(furnishes, "furnish", "furnishes")}, ${which}`;
  }

  window.sheetloreTitles = { points, against, response, strips, layers, part, listed };
})();
