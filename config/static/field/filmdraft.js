// The spot that is being read: kept at every tap, sealed when the next one begins.
//
// The database is the truth at each tap, so that a second tab or a restarted browser
// goes on where the last tap was.

import { localDay } from "./clock.js";
import { READINGS_PER_SPOT } from "./film.js";
import { uuid7 } from "./ids.js";
import { NotSaved } from "./outbox.js";
import { allUnder, get, inOne } from "./store.js";

export const keyOf = (visit, role) => `film/${visit.uuid}/${role}`;

const fresh = ({ area, spot, again = [] }) => ({ area, spot, again, place: null, half: null, shots: [] });

/** The kept spot, or a new one at `next`. */
export async function spotBeingRead(visit, role, next) {
  const kept = await get("drafts", keyOf(visit, role));
  return kept ?? fresh(next ?? { area: 1, spot: 1 });
}

export const isFull = (spot) => spot.shots.length >= READINGS_PER_SPOT;

/** One tap on the pad: the last wet tooth, then the first dry one. */
export function tapped(spot, tooth, unit) {
  if (spot.half === null) return { ...spot, half: { tooth, unit } };
  // A key of the moment before, hit twice by a wet glove.
  if (Number(tooth) <= Number(spot.half.tooth)) return spot;
  const shot = { uuid: uuid7(), last_wet: spot.half.tooth, first_dry: tooth, unit: spot.half.unit, happened_on: localDay() };
  return { ...spot, half: null, shots: [...spot.shots, shot] };
}

/** A dry gauge's reading: one number, measured and not estimated. */
export const measured = (spot, { method, value, unit }) =>
  ({ ...spot, half: null, shots: [...spot.shots, { uuid: uuid7(), method, value, unit, happened_on: localDay() }] });

export function undone(spot) {
  if (spot.half !== null) return { ...spot, half: null };
  return { ...spot, shots: spot.shots.slice(0, -1) };
}

/**
 * Keep the spot, and with it the draft of the form that a number was taken out of.
 * Throws NotSaved, and then both are as they were.
 */
export async function keepSpot(visit, role, spot, emptied = null) {
  try {
    await inOne(["drafts"], "readwrite", ({ drafts }) => {
      drafts.put({ ...spot, role }, keyOf(visit, role));
      if (emptied) drafts.put(emptied.kept, emptied.key);
    });
    return true;
  } catch (error) {
    throw new NotSaved(error?.name ?? String(error), { cause: error });
  }
}

export const readAgain = (visit, role, { area, spot, uuids }) =>
  keepSpot(visit, role, fresh({ area, spot, again: uuids }));

/** The readings as they travel; `already` of this spot were sealed before. */
export function readingsOf(spot, role, place, already) {
  const where = spot.place ?? place;
  return spot.shots.map((shot, index) => ({
    uuid: shot.uuid,
    coat: role,
    area_no: spot.area,
    spot_no: spot.spot,
    shot_no: (spot.again.length ? 0 : already) + index + 1,
    ...(shot.method ? { method: shot.method, value: shot.value } : { last_wet: shot.last_wet, first_dry: shot.first_dry }),
    unit: shot.unit,
    happened_on: shot.happened_on,
    x_m: where.x,
    y_m: where.y,
    supersedes: spot.again[index] ?? null,
  }));
}

/** Every unfinished spot of a visit. */
export const unfinished = (visit) => allUnder("drafts", `film/${visit.uuid}/`);
