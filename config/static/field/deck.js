// What a deck moisture reading means for the work.
//
// Wet from 30 % (USDA Forest Service 55905: serious decay needs fibre saturation). Dry
// up to and with 19 % (lumber trade's mark, from memory; the data sheet governs).

export function deckBand(pct) {
  if (!Number.isFinite(pct) || pct < 0) return null;
  if (pct >= 30) return "WET";
  return pct > 19 ? "HOLD" : "DRY";
}
