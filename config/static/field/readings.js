// Film readings of one coat, from captured notches to the rule's verdict.

import { dryMil, filmLimits, isJudged, judgeCoat } from "./film.js";
import { toMil, toUm } from "./units.js";

export const coatOf = (system, role) => system?.coats.find((coat) => coat.role === role) ?? null;

const NO_LIMITS = { spotLow: -Infinity, spotHigh: Infinity, areaLow: -Infinity, areaHigh: Infinity };

/** The film of a coat so far, `isJudged` when the sheet has limits; null: no such coat. */
export function filmOf({ visit, state, system, role, drafted = [] }) {
  const coat = coatOf(system, role);
  if (!coat) return null;
  const rule = visit.roof.film_rule;
  const shots = [...state.film, ...drafted].filter((one) => one.coat === role);
  const readings = shots.map((one) => ({ area: one.area_no, spot: one.spot_no, mil: milOf(one, coat, { state, rule }) }));
  const limits = isJudged(coat) ? filmLimits(coat, rule.level) : NO_LIMITS;
  return { ...judgeCoat(readings, { limits, areasRequired: rule.areas_required ?? 1 }), isJudged: isJudged(coat) };
}

/** The dry film one reading leaves [mil], with the most thinner that was logged. */
export function milOf(one, coat, { state, rule }) {
  if (one.method) return toMil(Number(one.value), one.unit);
  const logged = state.coat_log.filter((log) => log.coat === coat.role).map((log) => Number(log.thinner_ratio ?? 0));
  return dryMil(toUm(Number(one.last_wet), one.unit), toUm(Number(one.first_dry), one.unit), {
    solids: Number(coat.volume_solids_ratio),
    thinner: Math.max(0, ...logged),
    policy: rule.notch_policy,
  });
}

/** Where the pad goes on: the first spot without its three readings. */
export function nextSpot(spots, { areasRequired, perArea = 5, perSpot = 3 }) {
  const read = new Map(spots.map((spot) => [`${spot.area}/${spot.spot}`, spot.readings]));
  for (let area = 1; area <= areasRequired; area += 1) {
    for (let spot = 1; spot <= perArea; spot += 1) {
      if ((read.get(`${area}/${spot}`) ?? 0) < perSpot) return { area, spot };
    }
  }
  return null;
}
