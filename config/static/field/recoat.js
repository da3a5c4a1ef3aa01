// When the next coat may go on: an estimate that the data sheet overrides.
//
// The rate about doubles with each 10 °C (experience with two-pack coatings; water-borne
// ones also feel humidity, film and wind, for which there is no general factor).

const REFERENCE_C = 20;

export function cureHours(sheetHours, tempC, { minimumC, referenceC = REFERENCE_C }) {
  if (tempC < minimumC) return Infinity;
  return sheetHours * 2 ** ((referenceC - tempC) / 10);
}

/**
 * The window in hours after application. Heat shortens both ends; cold lengthens the
 * earliest and never the latest. Both ends count as inside.
 */
export function recoatWindow(elapsedHours, { tempC, minHours, maxHours, minimumC, referenceC }) {
  const at = (hours) => cureHours(hours, tempC, { minimumC, referenceC });
  const earliest = at(minHours);
  const latest = maxHours === null ? null : Math.min(maxHours, at(maxHours));
  let state = "IN_WINDOW";
  if (latest !== null && elapsedHours > latest) state = "EXPIRED";
  else if (earliest === Infinity) state = "NO_CURE";
  else if (elapsedHours < earliest) state = "TOO_EARLY";
  return { state, earliest, latest };
}
