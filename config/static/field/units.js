// Exact factors (NIST Handbook 44, appendix C) and numbers as people type them.

export const MIL_UM = 25.4;
export const FT_M = 0.3048;
export const GAL_ML = 3785.411784;

export const cFromF = (f) => ((f - 32) * 5) / 9;
export const fFromC = (c) => (c * 9) / 5 + 32;
export const toC = (value, unit) => (unit === "F" ? cFromF(value) : value);
export const toUm = (value, unit) => (unit === "mil" ? value * MIL_UM : value);
export const toMil = (value, unit) => (unit === "mil" ? value : value / MIL_UM);
export const fromM = (metres, isUs) => (isUs ? metres / FT_M : metres);
export const toM = (length, isUs) => (isUs ? length * FT_M : length);

/** A typed number as the text that travels, or null: a comma may be the point. */
export function typedNumber(text) {
  const plain = String(text ?? "").trim().replace(",", ".");
  return /^-?(\d+(\.\d*)?|\.\d+)$/.test(plain) ? tidy(plain) : null;
}

function tidy(plain) {
  const [whole, part = ""] = plain.replace("-", "").split(".");
  const digits = `${whole.replace(/^0+(?=\d)/, "") || "0"}${part ? `.${part}` : ""}`;
  return plain.startsWith("-") ? `-${digits}` : digits;
}

/** A number for reading: so many decimals, none that say nothing. */
export function shown(value, decimals = 1) {
  return Number.isFinite(value) ? String(Number(value.toFixed(decimals))) : "–";
}

export function shownBytes(bytes) {
  if (bytes < 1000) return `${bytes} B`;
  return bytes < 999_500 ? `${Math.round(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
