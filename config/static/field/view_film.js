// The notch-gauge pad: two taps a reading, and at once what the rule says.

import { contextOf, gone, sizeOf } from "./context.js";
import { button, goTo, h } from "./dom.js";
import { isSpotDone, sealing, workOf } from "./filmwork.js";
import { setDraft } from "./drafts.js";
import { dryPad, readsDry } from "./drypad.js";
import { keepSpot, measured, readAgain, tapped, undone } from "./filmdraft.js";
import { padOf } from "./filmpad.js";
import { redraw, tell } from "./news.js";
import { NotSaved, seal } from "./outbox.js";
import { suggestedPlace, walkingOrder } from "./plan.js";
import { placeShort, planView } from "./planview.js";
import { filmUnit, isUs } from "./prefs.js";
import { coatOf } from "./readings.js";
import { attempt, save, saveArea } from "./saving.js";
import { sync } from "./sync.js";
import { fromM, shown } from "./units.js";
import { verdictLines } from "./filmsays.js";
import { t } from "./words.js";

export async function viewFilm(uuid, asked) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const roles = (context.system?.coats ?? []).map((coat) => coat.role);
  const role = asked ?? roles.find((one) => one === "base") ?? roles[0];
  if (!roles.includes(role)) return { title: t("tool.film"), over: context.over, back: `/visit/${uuid}`, nodes: [h("p", {}, t("begin.need"))] };
  const work = await workOf(context, role);
  const place = saveArea();
  const { visit } = context;
  return {
    title: t("tool.film"), isTight: true, over: context.over, back: `/visit/${uuid}`,
    nodes: [
      h("nav", { class: "tabs", "aria-label": t("coat.which") }, roles.map((one) => goTo(`/visit/${uuid}/film/${one}`, t(`coat.${one}`), { class: "key tab", "aria-current": one === role ? "page" : null }))),
      work.spot.again.length > 0 && h("p", { class: "note" }, t("film.reading-again", work.spot)),
      plan(context, work, place),
      h("p", { class: "line where" }, where(work)),
      h("div", { class: "verdict", "aria-live": "polite" }, verdictLines(work, work.rule)),
      place,
      button(t("film.holiday"), () => holiday(visit, work.coming?.place ?? work.spot.place ?? work.suggested), { class: "quiet wide" }),
      spots(context, work),
      h("p", { class: "hint" }, t("film.borrowed", { level: work.rule.level })),
    ],
    bar: !visit.ended_at && (await pad({ context, work, place })),
    leave: () => sealNow({ uuid, role }),
  };
}

function where(work) {
  if (work.coming) return `${t("film.next", work.coming)} · ${placeShort(work.coming.place)}`;
  if (work.isDone && work.shotNo > 3) return t("film.done");
  const place = placeShort(work.spot.place ?? work.suggested);
  const { area, spot } = work.spot;
  return `${t("film.here", { area, spot, shot: Math.min(work.shotNo, 3) })} · ${place}`;
}

/** A holiday is a finding: its form opens with cause and place filled in. */
async function holiday(visit, place) {
  const values = { severity: "MINOR", cause: "holiday", place_x: shown(fromM(place.x, isUs()), 2), place_y: shown(fromM(place.y, isUs()), 2) };
  await setDraft(`finding/${visit.uuid}`, values);
  location.hash = `#/visit/${visit.uuid}/finding`;
}

/** One tap after the other, in every tab: each reads what the one before has kept. */
const inTurn = ({ uuid, role }, act) => navigator.locks.request(`film/${uuid}/${role}`, act);

const kept = (place, visit, role, spot, emptied = null) =>
  attempt(place, () => keepSpot(visit, role, spot, emptied), { isToSend: false });

/** Take one tap or number into the spot; false when it was not kept. */
const take = ({ uuid, role, place }, read, emptied = null) => inTurn({ uuid, role }, async () => {
  const found = await onward({ uuid, role, place });
  if (!found) return false;
  const next = read(found.work.spot);
  if (next === found.work.spot) return false;
  if (!(await kept(place, found.context.visit, role, next, emptied))) return false;
  tell("outbox");
  redraw();
  return true;
});

function pad({ context, work, place }) {
  const { visit, system } = context;
  const at = { uuid: visit.uuid, role: work.role, place };
  const onundo = () => undo(at);
  if (readsDry(visit)) return dryPad({ visit, unit: filmUnit(), work, onundo, onread: (read, emptied) => take(at, (spot) => measured(spot, read), emptied) });
  return padOf({ visit, coat: coatOf(system, work.role), unit: filmUnit(), work, onundo, ontooth: (tooth, unit, emptied) => take(at, (spot) => tapped(spot, tooth, unit), emptied) });
}

/** The spot to go on with: a full one is sealed first; null when the phone refused. */
async function onward({ uuid, role, place }) {
  const context = await contextOf(uuid);
  const work = await workOf(context, role);
  if (!isSpotDone(work) || !work.drafted.length) return { context, work };
  const { kind, body, extra } = sealing(context, work);
  if (!(await save(place, context.visit, kind, body, extra))) return null;
  const after = await contextOf(uuid);
  return { context: after, work: await workOf(after, role) };
}

const undo = ({ uuid, role, place }) => inTurn({ uuid, role }, async () => {
  const context = await contextOf(uuid);
  const { spot } = await workOf(context, role);
  if (!(await kept(place, context.visit, role, undone(spot)))) return;
  tell("outbox");
  redraw();
});

const sealNow = ({ uuid, role }) => inTurn({ uuid, role }, async () => {
  const context = await contextOf(uuid);
  const found = context && sealing(context, await workOf(context, role));
  if (!found) return;
  // Refused by a full phone: it stays as the draft that it is.
  await seal(context.visit, found.kind, found.body, found.extra).catch((error) => {
    if (!(error instanceof NotSaved)) throw error;
  });
  sync({ anew: true });
});

function plan(context, work, place) {
  const size = sizeOf(context.visit);
  const { rule, spot, suggested } = work;
  const placed = new Map(context.state.film.filter((one) => one.coat === work.role).map((one) => [`${one.area_no}/${one.spot_no}`, one]));
  for (const one of work.drafted) placed.set(`${one.area_no}/${one.spot_no}`, one);
  const read = (work.film?.spots ?? []).map((one) => {
    const at = placed.get(`${one.area}/${one.spot}`);
    return at?.x_m === null || !at ? null : { x: Number(at.x_m), y: Number(at.y_m), shape: one.verdict.toLowerCase(), text: t("film.spot-name", one) };
  });
  const ahead = everySpot(rule.areas_required).filter((one) => !placed.has(`${one.area}/${one.spot}`));
  const planned = ahead.map((one) => ({ ...suggestedPlace({ ...one, areas: rule.areas_required, ...size }), shape: "planned" }));
  return planView({
    ...size, penetrations: walkingOrder(context.state.penetrations), marks: [...planned, ...read.filter(Boolean)],
    chosen: work.coming?.place ?? spot.place ?? suggested,
    onplace: (at) => inTurn({ uuid: context.visit.uuid, role: work.role }, async () => {
      const found = await onward({ uuid: context.visit.uuid, role: work.role, place });
      if (!found) return;
      if (await kept(place, context.visit, work.role, { ...found.work.spot, place: at })) redraw();
    }),
  });
}

const everySpot = (areas) => Array.from({ length: areas * 5 }, (_, i) => ({ area: Math.floor(i / 5) + 1, spot: (i % 5) + 1 }));

function spots(context, work) {
  const kept = work.film?.spots ?? [];
  if (!kept.length) return null;
  const uuidsOf = (one) => context.state.film.filter((each) => each.coat === work.role && each.area_no === one.area && each.spot_no === one.spot).map((each) => each.uuid);
  return h("details", {}, h("summary", {}, t("film.spots")), h("ul", { class: "spots" }, kept.map((one) => {
    const uuids = uuidsOf(one);
    return h("li", {}, h("span", {}, `${t("film.spot-name", one)}: ${one.mean.toFixed(1)} mil`),
      uuids.length > 0 && !context.visit.ended_at && button(t("film.read-again"), async () => {
        await sealNow({ uuid: context.visit.uuid, role: work.role });
        await readAgain(context.visit, work.role, { area: one.area, spot: one.spot, uuids });
        redraw();
      }, { class: "quiet" }));
  })));
}
