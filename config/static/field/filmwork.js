// Everything the film view shows of one coat, and the sealing of a spot.

import { sizeOf } from "./context.js";
import { isFull, keyOf, readingsOf, spotBeingRead, unfinished } from "./filmdraft.js";
import { READINGS_PER_SPOT } from "./film.js";
import { suggestedPlace } from "./plan.js";
import { filmOf, nextSpot } from "./readings.js";

export async function workOf(context, role) {
  const { visit, state } = context;
  // Not measured yet: at least one area, and the office sees that it is unknown.
  const rule = { ...visit.roof.film_rule, areas_required: visit.roof.film_rule.areas_required ?? 1 };
  const sealed = filmOf({ ...context, role });
  const next = nextSpot(sealed?.spots ?? [], { areasRequired: rule.areas_required });
  const spot = await spotBeingRead(visit, role, next ?? { area: rule.areas_required, spot: 5 });
  const already = state.film.filter((one) => one.coat === role && one.area_no === spot.area && one.spot_no === spot.spot).length;
  const suggested = suggestedPlace({ ...spot, areas: rule.areas_required, ...sizeOf(visit) });
  const drafted = readingsOf(spot, role, suggested, already);
  const isReplaced = (one) => spot.again.slice(0, drafted.length).includes(one.uuid);
  const rest = { ...state, film: state.film.filter((one) => !isReplaced(one)) };
  const film = filmOf({ visit, state: rest, system: context.system, role, drafted });
  const shotNo = (spot.again.length ? 0 : already) + drafted.length + 1;
  const after = nextSpot(film?.spots ?? [], { areasRequired: rule.areas_required });
  // Three are read: the pad points at the next spot while the verdict shows this one.
  const coming = shotNo > READINGS_PER_SPOT && after ? { ...after, place: suggestedPlace({ ...after, areas: rule.areas_required, ...sizeOf(visit) }) } : null;
  return { role, rule, spot, suggested, drafted, film, coming, isDone: after === null, shotNo };
}

/** What a sealed spot is: one operation; null when nothing was read. */
export function sealing(context, work) {
  if (!work.drafted.length) return null;
  return { kind: "film", body: { readings: work.drafted }, extra: { drafts: [keyOf(context.visit, work.role)] } };
}

export const isSpotDone = (work) => isFull(work.spot) || work.shotNo > READINGS_PER_SPOT;

/** Seal whatever is unfinished at a visit: before leaving the pad, before its end. */
export async function sealUnfinished(context, seal) {
  for (const { role } of await unfinished(context.visit)) {
    const found = sealing(context, await workOf(context, role));
    if (found) await seal(found);
  }
}
