// Numbers and days as the server writes them, so that a phone and a report say the same.

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const DIGITS = 100; // As many as the language gives; a double between 1e-6 and 1e20 has fewer.

/** Round to so many decimals, a half to the even digit, by the exact value of the number. */
export function rounded(value, decimals) {
  return Number(halfToEven(value.toFixed(decimals), value.toFixed(DIGITS), decimals));
}

function halfToEven(up, exact, decimals) {
  const cut = exact.indexOf(".") + 1 + decimals;
  const tie = exact[cut] === "5" && /^0*$/.test(exact.slice(cut + 1));
  if (!tie) return up;
  const down = exact.slice(0, cut).replace(/\.$/, "");
  return /[02468]$/.test(down) ? down : up;
}

/** Six significant digits without trailing zeros: 1.5, 0.05, 1e+06. */
export function short(value) {
  if (value === 0) return "0";
  const [mantissa, power] = value.toExponential(5).split("e");
  const exponent = Number(power);
  if (exponent < -4 || exponent >= 6) {
    const sign = exponent < 0 ? "-" : "+";
    return `${trimmed(mantissa)}e${sign}${String(Math.abs(exponent)).padStart(2, "0")}`;
  }
  const decimals = 5 - exponent;
  return trimmed(halfToEven(value.toFixed(decimals), value.toFixed(DIGITS), decimals));
}

function trimmed(digits) {
  return digits.includes(".") ? digits.replace(/\.?0+$/, "") : digits;
}

/** A measure with its unit: "1.5 mm", "1 wire", "3 spots". */
export function amount(value, unit) {
  const number = short(rounded(value, 3));
  return `${number} ${number === "1" ? unit.replace(/s$/, "") : unit}`.trim();
}

/** A day as people write it, from its ISO form: "3 Jun 2026". */
export function day(iso) {
  const [year, month, date] = iso.split("-").map(Number);
  return `${date} ${MONTHS[month - 1]} ${year}`;
}

/** The day so many days after another, both ISO. */
export function later(iso, days) {
  return new Date(time(iso) + days * 86400000).toISOString().slice(0, 10);
}

export function daysBetween(from, to) {
  return Math.round((time(to) - time(from)) / 86400000);
}

function time(iso) {
  return Date.parse(`${iso}T00:00:00Z`);
}

/** The day of a moment where this phone is, ISO. */
export function dayAt(moment) {
  const two = (number) => String(number).padStart(2, "0");
  return `${moment.getFullYear()}-${two(moment.getMonth() + 1)}-${two(moment.getDate())}`;
}
