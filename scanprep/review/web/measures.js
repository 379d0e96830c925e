// Lengths as people write them, mm or inches with fractions to 1/64, and back. A bare number is in the page's own unit.

const MM = { mm: 1, cm: 10, m: 1000, in: 25.4, '"': 25.4, "″": 25.4, ft: 304.8 };

export function fraction(mm, parts = 64) {
  let steps = Math.round(Math.abs(mm) / 25.4 * parts);
  const whole = Math.floor(steps / parts);
  steps -= whole * parts;
  while (steps && steps % 2 === 0) { steps /= 2; parts /= 2; }
  const sign = mm < 0 && (whole || steps) ? "-" : "";
  if (!steps) return `${sign}${whole}`;
  return whole ? `${sign}${whole} ${steps}/${parts}` : `${sign}${steps}/${parts}`;
}

export const written = (mm, units, decimals = 1) =>
  units === "in" ? `${fraction(mm)} in` : `${mm.toFixed(decimals)} mm`;

// Short, for a drawing where the unit is said once.
export const short = (mm, units) => (units === "in" ? `${fraction(mm, 16)}″` : mm.toFixed(0));

export function parsed(text, units) {
  const found = /^\s*([-+]?)\s*(?:(\d+)\s+)?(\d+)\s*\/\s*(\d+)\s*(\S*)\s*$/.exec(text) ||
    /^\s*([-+]?)()\s*(\d*[.,]?\d+|\d+[.,]?)()\s*(\S*)\s*$/.exec(text);
  if (!found) return null;
  const per = MM[found[5] || units];
  if (!per) return null;
  const number = found[4] ? Number(found[2] || 0) + Number(found[3]) / Number(found[4]) :
    Number(found[3].replace(",", "."));
  const mm = (found[1] === "-" ? -1 : 1) * number * per;
  return Number.isFinite(mm) ? mm : null;
}
