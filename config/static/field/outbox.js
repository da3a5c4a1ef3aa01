// What was captured and is still on this phone: operations that never change.
//
// An operation is sealed once: its text, and the hash of exactly those bytes. It is
// kept until the server's receipt names the same hash. Operations of a visit that goes
// on stay afterwards too: the visit's pages are drawn from them.

import { localInstant } from "./clock.js";
import { sha256, toHex, uuid7 } from "./ids.js";
import { tell } from "./news.js";
import { all, allBy, allUnder, get, inOne, removeQuick, result } from "./store.js";

export const APP_VERSION = document.documentElement.dataset.version ?? "";

export class NotSaved extends Error {}

/**
 * Seal one operation of a visit and keep it, with a photo's bytes when it has some.
 * Drafts named in `drafts` go, and the visit's own record in `record` is kept, in the
 * same transaction. Throws NotSaved, and then nothing has changed.
 */
export async function seal(visit, kind, body, { photo = null, drafts = [], record = null } = {}) {
  const captured = new Date();
  const text = JSON.stringify({
    kind,
    roof: visit.roof.uuid,
    visit: kind === "visit" ? null : visit.uuid,
    captured_at: localInstant(captured),
    app_version: APP_VERSION,
    body,
  });
  const bytes = new TextEncoder().encode(text);
  const op = {
    op_id: uuid7(),
    visit: visit.uuid,
    owner: visit.owner,
    kind,
    text,
    sha256: toHex(await sha256(bytes)),
    size: bytes.length,
    made_at: captured.toISOString(),
    photo: photo?.id ?? null,
    state: "QUEUED",
    receipt: null,
  };
  await keep(op, { photo, drafts, record });
  drafts.forEach(removeQuick);
  tell("outbox");
  return op;
}

async function keep(op, { photo, drafts, record }) {
  try {
    await inOne(["ops", "photos", "bytes", "drafts", "visits"], "readwrite", (stores) => {
      stores.ops.add(op);
      if (record) stores.visits.put(record);
      for (const key of drafts) stores.drafts.delete(key);
      if (!photo) return;
      const { buffer, ...about } = photo;
      stores.photos.add({ ...about, op_id: op.op_id, visit: op.visit, owner: op.owner, sent: false });
      stores.bytes.add({ id: photo.id, buffer });
    });
    await verify(op, photo);
  } catch (error) {
    throw new NotSaved(error?.name ?? String(error), { cause: error });
  }
}

/** Read back what was written: some browsers report success and keep nothing. */
async function verify(op, photo) {
  const kept = await get("ops", op.op_id);
  if (kept?.text !== op.text) throw new DOMException("not kept", "DataError");
  if (!photo) return;
  const bytes = await get("bytes", photo.id);
  const hash = bytes?.buffer ? toHex(await sha256(bytes.buffer)) : "";
  if (hash !== photo.sha256) throw new DOMException("not kept", "DataError");
}

export const queued = () => allBy("ops", "state", "QUEUED");

export const opsOf = async (visit) =>
  (await allBy("ops", "visit", visit)).sort((a, b) => (a.op_id < b.op_id ? -1 : 1));

/** What is still on this phone: records, photos, bytes, and whose they are. */
export async function stillHere() {
  const [ops, photos, film] = await Promise.all([queued(), all("photos"), allUnder("drafts", "film/")]);
  const unsent = photos.filter((photo) => !photo.sent);
  const reading = film.filter((spot) => spot.shots.length).map((spot) => ({ size: JSON.stringify(spot).length }));
  return {
    // A spot that is still being read is a record that nobody else has.
    records: ops.length + reading.length,
    photos: unsent.length,
    bytes: [...ops, ...reading, ...unsent].reduce((sum, part) => sum + part.size, 0),
    owners: [...new Set([...ops, ...unsent].map((part) => part.owner))],
  };
}

/** Mark an operation as received; true only when the receipt's hash is its own. */
export async function receive(op, receipt) {
  if (receipt?.sha256 !== op.sha256) return false;
  await inOne(["ops", "photos", "bytes"], "readwrite", async (stores) => {
    stores.ops.put({ ...op, state: "RECEIVED", receipt });
    if (op.photo) await letGo(stores, op.photo, true);
  });
  tell("outbox");
  return true;
}

/** Mark a photo's bytes as received; they go once its operation is received too. */
export async function receivePhoto(photo, receipt) {
  if (receipt?.sha256 !== photo.sha256) return false;
  await inOne(["ops", "photos", "bytes"], "readwrite", async (stores) => {
    stores.photos.put({ ...photo, sent: true });
    const op = await result(stores.ops.get(photo.op_id));
    await letGo(stores, photo.id, !op || op.state === "RECEIVED");
  });
  tell("outbox");
  return true;
}

async function letGo(stores, photoId, isToldOf) {
  const photo = await result(stores.photos.get(photoId));
  if (photo?.sent && isToldOf) stores.bytes.delete(photoId);
}
