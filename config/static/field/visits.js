// A visit as it stands on this phone: drawn from what was captured, nothing beside it.

import { localDay } from "./clock.js";
import { uuid7 } from "./ids.js";
import { tell } from "./news.js";
import { opsOf, seal } from "./outbox.js";
import { all, allBy, get, inOne } from "./store.js";

const REF_MAX = 28;
const SENT_DAYS = 7;
const IN_M = 0.0254;

export const visitOf = (uuid) => get("visits", uuid);

/** Begin a visit at a roof of the work list; its beginning is the first operation. */
export async function begin({ booking = null, kind, roof, owner, systems = [], drafts = [] }) {
  const day = localDay();
  const visit = {
    uuid: uuid7(),
    ref: `${roof.coach.unit_no.slice(0, 12)}-${day.replaceAll("-", "")}-${kind.slice(0, 4)}`.slice(0, REF_MAX),
    kind,
    booking: booking && { uuid: booking.uuid, version: booking.version },
    roof,
    // A later list may lack them: the film of this visit is judged by these.
    systems,
    owner,
    happened_on: day,
    begun_at: new Date().toISOString(),
    ended_at: null,
    sent: null,
  };
  const body = visitBody(visit, { uuid: visit.uuid, result: "NONE", note: "" });
  await seal(visit, "visit", body, { record: visit, drafts });
  return visit;
}

function visitBody(visit, { uuid, result, note, supersedes = null }) {
  return {
    uuid,
    ref: visit.ref,
    visit_kind: visit.kind,
    happened_on: visit.happened_on,
    booking: visit.booking?.uuid ?? null,
    booking_version: visit.booking?.version ?? null,
    result,
    note,
    supersedes,
    // Of a coach that is not on the list: how the office finds it.
    coach_told: visit.roof.is_met ? visit.roof.coach.unit_no : undefined,
  };
}

/** End a visit with its result: a second record that takes the place of the first. */
export async function end(visit, { result, note }) {
  const body = visitBody(visit, { uuid: uuid7(), result, note, supersedes: visit.uuid });
  const record = { ...visit, ended_at: new Date().toISOString() };
  await seal(visit, "visit", body, { drafts: [`end/${visit.uuid}`], record });
}

/** Everything captured at a visit, corrections applied. */
export async function captured(visit) {
  const state = emptyState();
  for (const op of await opsOf(visit.uuid)) {
    const { kind, body } = JSON.parse(op.text);
    const bodies = kind === "film" ? body.readings : [body];
    for (const one of bodies) note(state[kind], { ...one, made_at: op.made_at });
  }
  state.check = new Map([...state.check.values()].map((answer) => [answer.step, answer]));
  for (const kind of Object.keys(state)) if (kind !== "check") state[kind] = [...state[kind].values()];
  state.penetrations = penetrationsNow(visit, state);
  return state;
}

/** Findings at a roof from every visit on this phone, and which of them were cured. */
export async function foundHere(roof) {
  const here = (await all("visits")).filter((visit) => visit.roof.uuid === roof.uuid && !visit.sent);
  const states = await Promise.all(here.map(captured));
  return {
    findings: states.flatMap((state) => state.finding),
    cured: new Set(states.flatMap((state) => state.cure.map((cure) => cure.finding))),
  };
}

const KINDS = ["visit", "climate", "film", "coat_log", "moisture", "adhesion", "penetration", "finding", "cure", "check", "photo", "signature", "installation"];

const emptyState = () => Object.fromEntries(KINDS.map((kind) => [kind, new Map()]));

function note(found, body) {
  const older = found.get(body.supersedes);
  if (body.supersedes) found.delete(body.supersedes);
  // Photos and cures may name what a finding was before it was corrected.
  if (!body.void) found.set(body.uuid, { ...body, names: [...(older?.names ?? []), body.uuid] });
}

/** The downloaded penetrations, with what was added or changed at this visit. */
function penetrationsNow(visit, state) {
  const replaced = new Set(state.penetration.map((one) => one.supersedes).filter(Boolean));
  const own = state.penetration.map((one) => ({
    ...one, x_m: one.x, y_m: one.y, width_m: inMetres(one.width, one.size_unit), length_m: inMetres(one.length, one.size_unit),
  }));
  // The newest list may tell of what this visit added, too.
  const isOwn = new Set(own.map((one) => one.uuid));
  return [...visit.roof.penetrations.filter((one) => !replaced.has(one.uuid) && !isOwn.has(one.uuid)), ...own];
}

const inMetres = (size, unit) => Number(size) * (unit === "in" ? IN_M : 1);

/** Forget an ended visit once the server has all of it; keep a line that tells so. */
export async function tidyUp() {
  for (const visit of await all("visits")) {
    if (visit.sent) await forgetLater(visit);
    else if (visit.ended_at) await forgetWhenSent(visit);
  }
}

async function forgetWhenSent(visit) {
  const ops = await opsOf(visit.uuid);
  const photos = await allBy("photos", "visit", visit.uuid);
  if (ops.some((op) => op.state !== "RECEIVED") || photos.some((photo) => !photo.sent)) return;
  const sent = { at: new Date().toISOString(), records: ops.length, photos: photos.length, notices: noticesOf(ops) };
  await inOne(["visits", "ops", "photos"], "readwrite", (stores) => {
    for (const op of ops) stores.ops.delete(op.op_id);
    for (const photo of photos) stores.photos.delete(photo.id);
    stores.visits.put({ ...visit, sent });
  });
  tell("visits");
}

async function forgetLater(visit) {
  const ageMs = Date.now() - new Date(visit.sent.at).getTime();
  if (ageMs < SENT_DAYS * 86_400_000) return;
  await inOne(["visits"], "readwrite", (stores) => stores.visits.delete(visit.uuid));
}

/** What the office has to look at, in the server's own words. */
export function noticesOf(ops) {
  return ops
    .filter(({ receipt }) => receipt && (receipt.verdict === "KEPT_ASIDE" || receipt.verdict === "CONFLICT" || receipt.flags?.length))
    .map(({ kind, receipt }) => ({ kind, verdict: receipt.verdict, reason: receipt.reason ?? "", flags: receipt.flags ?? [] }));
}
