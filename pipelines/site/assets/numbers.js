// Formats numbers for people, with the rules of labels.py.
"use strict";

(function () {
  const MISSING = "–";
  const known = (value) => typeof value === "number" && Number.isFinite(value);

  // Returns a number with the given decimals, and a narrow space between thousands from five figures on.
  function fixed(value, decimals) {
    if (!known(value)) return MISSING;
    const text = value.toFixed(decimals);
    const [whole, rest] = text.replace("-", "").split(".");
    const spaced = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, "\u202f") : whole;
    return (Number(text) < 0 ? "−" : "") + spaced + (rest ? `.${rest}` : "");
  }

  // Returns the decimal places at which an uncertainty has two significant digits, negative for tens and above.
  function places(uncertainty) {
    return known(uncertainty) && uncertainty > 0 ? 1 - Number(uncertainty.toExponential(1).split("e")[1]) : null;
  }

  // Returns a value at the place of the second significant digit of its uncertainty; without one, to three digits.
  function rounded(value, uncertainty) {
    if (!known(value)) return MISSING;
    const place = places(uncertainty) ?? (value === 0 ? 0 : 2 - Math.floor(Math.log10(Math.abs(value))));
    const step = 10 ** -place;
    return fixed(place < 0 ? Math.round(value / step) * step : value, Math.min(20, Math.max(0, place)));
  }

  // Returns the ends of an interval, rounded to the place of the second significant digit of half its width.
  function interval(low, high) {
    return range(low, high, (high - low) / 2);
  }

  // Returns the ends of a range with the same decimals: those of the uncertainty, else three digits of the larger end.
  function range(low, high, uncertainty = null) {
    const digits = 2 - Math.floor(Math.log10(Math.max(Math.abs(low), Math.abs(high)) || 1));
    const text = (value) => places(uncertainty) === null ? fixed(value, Math.min(20, Math.max(0, digits))) : rounded(value, uncertainty);
    const [from, to] = [text(low), text(high)];
    if (from === to) return from;
    return low < 0 ? `${from} to ${to}` : `${from}-${to}`;
  }

  // Returns how many decimals a column of numbers has: from its uncertainty, else four digits of its largest value.
  function decimals(values, uncertainty = null) {
    if (places(uncertainty) !== null) return Math.min(20, Math.max(0, places(uncertainty)));
    const numbers = values.filter(known);
    if (numbers.every(Number.isInteger)) return 0;
    const largest = numbers.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    return Math.min(20, Math.max(0, 3 - Math.floor(Math.log10(largest))));
  }

  function counted(count, one, many) {
    return `${fixed(count, 0)} ${count === 1 ? one : many || `${one}s`}`;
  }

  window.sheetloreNumbers = { MISSING, fixed, places, rounded, interval, range, decimals, counted };
})();
