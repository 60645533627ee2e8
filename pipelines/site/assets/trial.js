// The page of a trial: what a reader chooses (property, direction, x axis, trial points, sheets), the rows that its
// figures draw, and the address that restores the same view.
"use strict";

(function () {
  const { data, page, views, redraw, describe } = window.sheetlorePage;
  const { MISSING, fixed, rounded, range, decimals, counted } = window.sheetloreNumbers;
  const titles = window.sheetloreTitles;
  const POINTS_DRAWN = 30;
  const NAMED = 8;
  const DRAW_TO_CHOOSE = "Draw a rectangle to choose sheets.";
  const byId = (id) => document.getElementById(id);
  const selects = { y: byId("y"), d: byId("d"), x: byId("x") };
  const ticks = [...document.querySelectorAll("#points input[type=checkbox]")];
  const state = { hidden: new Set(), chosen: [] };
  const propertyOf = () => page.properties[selects.y.value];
  const axisOf = () => page.axes[selects.x.value];

  // What is shown

  function directions() {
    const { directions: has } = propertyOf();
    return has.length ? selects.d.value.split(" ").filter((one) => has.includes(one)) : [""];
  }

  const shown = (rows) => rows.filter((row) => !state.hidden.has(row.trial_point));

  function chosen(rows) {
    const of = new Set(state.chosen);
    return of.size ? rows.filter((row) => of.has(row.sheet_id)) : rows;
  }

  // Returns one row per direction that has a value of the property, with its 95 % interval.
  function tidy(rows, of = directions()) {
    return rows.flatMap((row) => of.map((direction) => {
      const number = (ending) => row[`${selects.y.value}|${direction}|${ending}`] ?? null;
      const [value, half] = [number(""), number("±")];
      const ends = half === null ? { low: null, high: null } : { low: value - half, high: value + half };
      const u = propertyOf().u[row.sheet_id === undefined ? "trial_point" : "sheet"][direction] ?? null;
      return {
        trial_point: row.trial_point, sheet_id: row.sheet_id, place: row.place, direction, value, half, u, ...ends, row,
        s: number("s"), U: number("U"), n_sheets: number("n_sheets"), n_readings: number("n_readings"),
        n_left_out: number("n_left_out"), value_text: rounded(value, u),
        interval: half === null ? MISSING : range(ends.low, ends.high, u),
      };
    })).filter((row) => row.value !== null);
  }

  // Returns rows with their value on the x axis; rows without one are left out.
  function withX(rows, key, names = false) {
    const of = (row) => row[key] ?? row[`${key}|`] ?? null;
    const placed = rows.map((row) => ({ ...row, x: of(row.row) })).filter((row) => row.x !== null);
    if (names) return placed.map((row) => ({ ...row, x_text: row.x }));
    const [property, direction] = key.split("|");
    const places = decimals(placed.map((row) => row.x), page.properties[property]?.u.sheet[direction]);
    return placed.map((row) => ({ ...row, x_text: fixed(row.x, places) }));
  }

  function put(valueTitle, xTitle = "") {
    return { "@value_title": valueTitle, "@x_title": xTitle, "@directions": directions() };
  }

  function valueTitle(direction = directions().length === 1 ? directions()[0] : "") {
    const { name, unit } = propertyOf();
    const of = direction === "GM" ? "geometric mean of MD and CD" : direction;
    const heading = direction === "MD/CD" ? `${name}, MD/CD` : `${name}${of ? ` ${of}` : ""}`;
    return unit && direction !== "MD/CD" ? `${heading}, ${unit}` : heading;
  }

  // The property for titles: MD/CD has no unit.
  function named() {
    const only = directions().length === 1 && directions()[0] === "MD/CD";
    return only ? { ...propertyOf(), unit: "" } : propertyOf();
  }

  // What each figure shows: its chart, rows, title and note; null for nothing

  function pointsFigure() {
    const rows = shown(data.points);
    const all = tidy(rows);
    const first = all.filter((row) => row.direction === directions()[0]).sort((one, other) => other.value - one.value);
    const cut = rows.length > POINTS_DRAWN;
    const order = new Map(first.slice(0, POINTS_DRAWN).map((row, place) => [row.trial_point, place]));
    const drawn = (some) => cut ? some.filter((row) => order.has(row.trial_point))
      .map((row) => ({ ...row, place: order.get(row.trial_point) })) : some;
    const single = new Set(all.filter((row) => row.half === null).map((row) => row.trial_point)).size;
    const means = drawn(all);
    return {
      chart: "trial-points", put: put(valueTitle()),
      datasets: { means, sheets: drawn(tidy(shown(data.sheets))) },
      step: directions().length > 1 ? 40 : 26,
      title: titles.points(named(), all, rows.length, data.points.length),
      note: (cut ? `Drawn are the ${POINTS_DRAWN} trial points with the highest value${first.length && first[0].direction ? ` in ${first[0].direction}` : ""}. ` : "") +
        "Means of sheets with their 95 % intervals; each small stroke is a sheet. Overlapping intervals prove neither a difference nor " +
        `that there is none.${single ? ` ${counted(single, "trial point")} of one sheet ${single === 1 ? "has" : "have"} no interval and ${single === 1 ? "is" : "are"} not compared.` : ""}`,
      drawn: linkMarks,
    };
  }

  function responseFigure() {
    if (!propertyOf().directions.includes("MD/CD")) return null;
    const rows = withX(tidy(shown(data.sheets), ["MD/CD"]), "jet_to_wire_ratio");
    const whole = state.hidden.size === 0;
    const fit = data.response.find((row) => row.property === selects.y.value) || null;
    const fitted = fit !== null && fit.outcome !== "not_fitted";
    const curve = whole ? data.curve.filter((row) => row.property === selects.y.value) : [];
    const at = whole && fit && fit.outcome === "minimum" && !fit.reason ? fit.minimum_jet_to_wire_ratio : null;
    const about = fitted ? "The curve with its 95 % band is fitted to all sheets of the trial" : "No curve is fitted";
    return {
      chart: "trial-response", put: put(valueTitle("MD/CD"), page.axes.jet_to_wire_ratio.title),
      datasets: {
        sheets: rows, curve: curve.map((row) => ({ ...row, x: row.jet_to_wire_ratio })),
        minimum: at === null ? [] : [{ x: at, text: rounded(at, null) }],
      },
      title: titles.response(propertyOf(), fit, rows, chosen(rows), whole),
      note: `A mark for each sheet. ${about}${fitted && !whole ? "; it is not drawn for a part of them" : ""}.` +
        `${whole && fit && fit.reason ? ` ${fit.reason}` : ""}`,
      hint: DRAW_TO_CHOOSE,
      drawn: (view) => { linkMarks(view); listenToBrush(view, rows); },
    };
  }

  function againstFigure() {
    const axis = axisOf();
    const sheets = shown(data.sheets);
    const all = tidy(sheets);
    const rows = withX(all, selects.x.value, axis.names);
    const without = new Set(all.map((row) => row.sheet_id)).size - new Set(rows.map((row) => row.sheet_id)).size;
    const intervals = rows.some((row) => row.half !== null);
    return {
      chart: axis.names ? "trial-against-names" : "trial-against", put: put(valueTitle(), axis.title),
      datasets: { sheets: rows },
      title: titles.against(named(), axis, rows, chosen(rows), data.sheets.length),
      note: `A mark for each sheet${intervals ? ", with the 95 % interval of its mean" : ""}.` +
        `${without ? ` ${counted(without, "sheet")} without ${axis.in_text} not drawn.` : ""}`,
      hint: `${axis.names ? "" : `${DRAW_TO_CHOOSE} `}Click a mark to open the sheet's page.`,
      drawn: (view) => { linkMarks(view); if (!axis.names) listenToBrush(view, rows); },
    };
  }

  function stripsFigure() {
    const { field } = propertyOf();
    if (!field) return null;
    const pieces = shown(data.pieces);
    const rows = pieces.map((row) => ({ ...row, value: row[field] })).filter((row) => row.value !== null);
    const sheets = shown(data.sheets).filter((row) => row.n_pieces + row.n_left_out > 0);
    const drawn = new Set(pieces.map((row) => row.sheet_id)).size;
    return {
      chart: "trial-strips", put: put(valueTitle("")), datasets: { pieces: rows },
      title: titles.strips(propertyOf(), rows, {
        without: pieces.length - rows.length, sheets: drawn, allSheets: sheets.length,
        allPieces: sheets.reduce((sum, row) => sum + row.n_pieces + row.n_left_out, 0),
      }),
      note: "A line for each sheet, a mark for each test piece; hollow where it does not count in the means." +
        `${drawn < sheets.length ? ` This page has the pieces of the trial's last ${page.n_sheets_with_pieces} sheets; the pages of the sheets have all.` : ""}`,
      drawn: linkMarks,
    };
  }

  function layersFigure() {
    const all = shown(data.layers).filter((row) => row.oven_dry_mass_g !== null);
    const points = [...new Set(all.map((row) => row.trial_point))];
    const kept = new Set(points.slice(0, POINTS_DRAWN));
    const rows = all.filter((row) => kept.has(row.trial_point));
    return {
      chart: "trial-layers", put: page.figures.layers.variants[""].put, datasets: { layers: rows },
      title: titles.layers(rows, kept.size, new Set(data.points.map((row) => row.trial_point)).size),
      note: "From the wire, left to right.",
    };
  }

  window.sheetloreFigures = {
    points: pointsFigure, response: responseFigure, against: againstFigure, strips: stripsFigure, layers: layersFigure,
  };

  // Marks: a click opens the sheet's page, a rectangle chooses sheets

  function pageOf(sheet) {
    const link = document.querySelector(`#trial-sheets tr[data-key="${CSS.escape(sheet)}"] a`);
    return link && link.href;
  }

  function linkMarks(view) {
    view.addEventListener("click", (event, item) => {
      const href = item && item.datum && item.datum.sheet_id && pageOf(item.datum.sheet_id);
      if (!href) return;
      if (event.ctrlKey || event.metaKey) window.open(href, "_blank", "noopener");
      else location.assign(href);
    });
    view.signal("chosen", state.chosen).runAsync();
  }

  function listenToBrush(view, rows) {
    view.addSignalListener("brush", (_, intervals) => {
      const fields = Object.entries(intervals).filter(([, limits]) => Array.isArray(limits));
      if (!fields.length) return choose([]);
      const inside = (row) => fields.every(([field, [low, high]]) =>
        row[field] >= Math.min(low, high) && row[field] <= Math.max(low, high));
      return choose([...new Set(rows.filter(inside).map((row) => row.sheet_id))]);
    });
  }

  // Choices

  function choose(sheets) {
    if (sheets.length === state.chosen.length && sheets.every((sheet, place) => sheet === state.chosen[place])) return;
    state.chosen = sheets;
    views.forEach((view, key) => {
      if (key !== "layers") view.signal("chosen", sheets).runAsync();
      describe(key);
    });
    update();
    clearTimeout(state.remembering); // a rectangle that is being drawn changes the choice many times a second
    state.remembering = setTimeout(remember, 200);
  }

  // Updates the page to the state, except the charts.
  function update() {
    const marked = new Set(state.chosen);
    document.querySelectorAll("#trial-sheets tbody tr").forEach((row) => {
      const is = marked.has(row.dataset.key);
      row.classList.toggle("chosen", is);
      row.classList.toggle("pale", marked.size > 0 && !is);
      row.querySelector("input").checked = is;
      row.hidden = state.hidden.has(row.dataset.group);
    });
    document.querySelectorAll("[data-of-points] tbody tr").forEach((row) => {
      row.hidden = state.hidden.has(row.cells[0].textContent);
    });
    ticks.forEach((tick) => { tick.checked = !state.hidden.has(tick.value); });
    selects.d.parentElement.hidden = !propertyOf().directions.length;
    byId("shown").textContent = inWords();
    byId("show-all").disabled = !state.hidden.size && !state.chosen.length;
  }

  // Says in words which trial points and sheets are shown; a print has no controls.
  function inWords() {
    const of = shown(data.points).map((row) => row.trial_point);
    const names = (some) => some.slice(0, NAMED).join(", ") + (some.length > NAMED ? ` and ${some.length - NAMED} more` : "");
    const points = !state.hidden.size ? `All ${counted(of.length, "trial point")} shown`
      : `${of.length} of ${counted(data.points.length, "trial point")} shown, ` +
        (state.hidden.size < of.length ? `without ${names([...state.hidden])}` : `only ${names(of)}`);
    if (!state.chosen.length) return `${points}.`;
    return `${points}; ${counted(state.chosen.length, "sheet")} chosen (${names(state.chosen)}), the others pale.`;
  }

  function changed() {
    state.chosen = state.chosen.filter((sheet) => data.sheets.some((row) => row.sheet_id === sheet && !state.hidden.has(row.trial_point)));
    update();
    remember();
    return redraw();
  }

  // The address

  function remember() {
    const names = data.points.map((row) => row.trial_point);
    const only = names.filter((name) => !state.hidden.has(name));
    const pairs = Object.entries(selects).filter(([, select]) => select.value).map(([key, select]) => [key, select.value]);
    if (state.hidden.size) pairs.push(...(only.length < state.hidden.size ? only.map((name) => ["only", name]) : [...state.hidden].map((name) => ["without", name])));
    pairs.push(...state.chosen.map((sheet) => ["sheet", sheet]));
    history.replaceState(null, "", `#${new URLSearchParams(pairs)}`);
  }

  // Restores the view from the address; unknown names are ignored.
  function recall() {
    const parameters = new URLSearchParams(location.hash.slice(1));
    if (!parameters.has("y")) return false;
    Object.entries(selects).forEach(([key, select]) => {
      if ([...select.options].some((option) => option.value === parameters.get(key))) select.value = parameters.get(key);
    });
    const names = data.points.map((row) => row.trial_point);
    const only = parameters.getAll("only").filter((name) => names.includes(name));
    const without = parameters.getAll("without").filter((name) => names.includes(name));
    state.hidden = new Set(only.length ? names.filter((name) => !only.includes(name)) : without);
    const sheets = new Set(data.sheets.map((row) => row.sheet_id));
    state.chosen = parameters.getAll("sheet").filter((sheet) => sheets.has(sheet));
    return true;
  }

  // Controls

  Object.values(selects).forEach((select) => select.addEventListener("change", changed));
  byId("points").addEventListener("change", ({ target }) => {
    if (target.type !== "checkbox") return;
    state.hidden[target.checked ? "delete" : "add"](target.value);
    changed();
  });
  const sheets = document.querySelector("#trial-sheets tbody");
  sheets.addEventListener("change", () => {
    choose([...sheets.querySelectorAll("input:checked")].map((box) => box.closest("tr").dataset.key));
  });
  byId("show-all").addEventListener("click", () => { state.hidden.clear(); state.chosen = []; changed(); });
  const found = byId("only-found");
  if (found) {
    found.addEventListener("click", () => {
      const keep = new Set(ticks.filter((tick) => !tick.closest("[data-entry]").hidden).map((tick) => tick.value));
      if (keep.size) state.hidden = new Set(ticks.map((tick) => tick.value).filter((name) => !keep.has(name)));
      changed();
    });
  }
  window.addEventListener("hashchange", () => { if (recall()) { update(); redraw(); } });

  recall();
  update();
  Object.assign(window.sheetlorePage, { state, choose, changed });
})();
