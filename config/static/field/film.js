// The dry film of one coat judged by spot and area, as the office will judge it.
//
// SSPC-PA 2 (2015, rev. 2018), numbers only. It is written for metal: its arithmetic
// is borrowed, and a dry film from a notch gauge is estimated, never measured.
// Levels 2, 4 and 5 are from memory; the server holds the same table.

import { MIL_UM } from "./units.js";

export const READINGS_PER_SPOT = 3;
export const SPOTS_PER_AREA = 5;
const TOLERANCE_MIL = 1e-9;
// Spot low, spot high, area low, area high: shares of the specified limits.
const LEVELS = {
  1: [1, 1, 1, 1],
  2: [1, 1.2, 1, 1],
  3: [0.8, 1.2, 1, 1],
  4: [0.8, 1.5, 1, Infinity],
  5: [0.8, Infinity, 1, Infinity],
};

export function isJudged(coat) {
  return coat.dry_min_um !== null || coat.dry_max_um !== null;
}

/** The limits of spot and area means [mil]; infinite where the sheet has none. */
export function filmLimits(coat, level = 3) {
  const low = coat.dry_min_um === null ? -Infinity : Number(coat.dry_min_um) / MIL_UM;
  const high = coat.dry_max_um === null ? Infinity : Number(coat.dry_max_um) / MIL_UM;
  const [spotLow, spotHigh, areaLow, areaHigh] = LEVELS[level] ?? LEVELS[3];
  return {
    spotLow: low * spotLow,
    spotHigh: high * spotHigh,
    areaLow: low * areaLow,
    areaHigh: high * areaHigh,
  };
}

/** Dry film from one notch reading [mil]: the surely wetted tooth unless told else. */
export function dryMil(lastWetUm, firstDryUm, { solids, thinner = 0, policy = "LOWER" }) {
  const points = { LOWER: lastWetUm, UPPER: firstDryUm, MIDPOINT: (lastWetUm + firstDryUm) / 2 };
  return ((points[policy] ?? lastWetUm) * solids) / (1 + thinner) / MIL_UM;
}

/**
 * Judge readings {area, spot, mil}. A judged spot or complete area outside its limits
 * is NOT_MET; else too few complete areas is UNKNOWN; else MET. Limits are inclusive.
 */
export function judgeCoat(readings, { limits, areasRequired }) {
  const spots = judgeSpots(readings, limits);
  const areas = judgeAreas(spots, limits);
  const completeAreas = areas.filter((area) => area.spots >= SPOTS_PER_AREA).length;
  const failing = [...spots, ...areas].filter((part) => part.verdict === "NOT_MET");
  let verdict = completeAreas < areasRequired ? "UNKNOWN" : "MET";
  if (failing.length) verdict = "NOT_MET";
  return { verdict, spots, areas, completeAreas, areasRequired, limits };
}

function judgeSpots(readings, limits) {
  const found = new Map();
  for (const { area, spot, mil } of readings) {
    const key = `${area}/${spot}`;
    if (!found.has(key)) found.set(key, { area, spot, values: [] });
    found.get(key).values.push(mil);
  }
  const inOrder = [...found.values()].sort((a, b) => a.area - b.area || a.spot - b.spot);
  return inOrder.map(({ area, spot, values }) => {
    const mean = meanOf(values);
    const enough = values.length >= READINGS_PER_SPOT;
    const verdict = enough ? within(mean, limits.spotLow, limits.spotHigh) : "UNKNOWN";
    return { area, spot, readings: values.length, mean, verdict };
  });
}

function judgeAreas(spots, limits) {
  const numbers = [...new Set(spots.map((spot) => spot.area))];
  return numbers.map((area) => {
    const judged = spots.filter((spot) => spot.area === area && spot.readings >= READINGS_PER_SPOT);
    const mean = judged.length ? meanOf(judged.map((spot) => spot.mean)) : null;
    const complete = judged.length >= SPOTS_PER_AREA;
    const verdict = complete ? within(mean, limits.areaLow, limits.areaHigh) : "UNKNOWN";
    return { area, spots: judged.length, mean, verdict };
  });
}

function within(mean, low, high) {
  return mean >= low - TOLERANCE_MIL && mean <= high + TOLERANCE_MIL ? "MET" : "NOT_MET";
}

function meanOf(values) {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
