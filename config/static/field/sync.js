// Sends what is on this phone, one sender at a time, until nothing is left.
//
// Started by the page itself: when something is kept, when the line or the page comes
// back, and by a timer. `navigator.onLine` is a hint only, so it is never asked.

import { NoAnswer, Refused, asJson, call } from "./api.js";
import { toBase64 } from "./ids.js";
import { tell } from "./news.js";
import { queued, receive, receivePhoto } from "./outbox.js";
import { account } from "./pairing.js";
import { all, get } from "./store.js";
import { tidyUp } from "./visits.js";
import { refreshWork } from "./work.js";

const BATCH_OPS = 100;
const BATCH_BYTES = 1_000_000;
const EVERY_MS = 25_000;
const SLOWEST_MS = 300_000;

export const sending = { phase: "idle", problem: "" };
let pause = EVERY_MS;
let timer = 0;
let isAsked = false;

export function startSync() {
  addEventListener("online", () => sync({ anew: true }));
  addEventListener("pageshow", () => sync({ anew: true }));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") sync({ anew: true });
  });
  return sync({ anew: true });
}

/** Send now. `anew` forgets how long the phone had waited after failures. */
export async function sync({ anew = false } = {}) {
  if (anew) pause = EVERY_MS;
  clearTimeout(timer);
  // Whoever sends already, here or in another tab, does it for both.
  isAsked = true;
  await navigator.locks.request("field-sync", { ifAvailable: true }, (lock) => (lock ? drain() : null));
  clearTimeout(timer);
  timer = setTimeout(sync, pause);
}

async function drain() {
  const who = await account();
  if (!who) return say("unpaired");
  say("sending");
  try {
    let failed = 0;
    const hadAny = (await queued()).length > 0;
    while (isAsked) {
      isAsked = false;
      failed = (await sendOps(who)) + (await sendPhotos(who));
    }
    // What was just sent may have opened or cured a finding.
    await refreshWork({ now: hadAny });
    await tidyUp();
    pause = failed ? slower() : EVERY_MS;
    return say("idle", failed ? "some-refused" : "");
  } catch (error) {
    return explain(error);
  }
}

function explain(error) {
  pause = slower();
  if (error instanceof Refused && error.status === 401) return say("revoked", error.code);
  if (error instanceof NoAnswer || error instanceof Refused) return say("waiting", error.message);
  say("waiting", "fault");
  throw error;
}

const slower = () => Math.min(pause * 2, SLOWEST_MS);

function say(phase, problem = "") {
  Object.assign(sending, { phase, problem });
  tell("sync");
}

async function sendOps(who) {
  const skipped = new Set();
  let most = BATCH_OPS;
  for (;;) {
    const mine = (await queued()).filter((op) => op.owner === who.technician.uuid && !skipped.has(op.op_id));
    if (!mine.length) return skipped.size;
    const batch = firstOf(mine, most);
    try {
      for (const op of await sendBatch(batch)) skipped.add(op.op_id);
    } catch (error) {
      if (!(error instanceof Refused) || error.status === 401 || error.status === 429) throw error;
      // One operation that the server trips over must not hold up the others.
      if (batch.length === 1) skipped.add(batch[0].op_id);
      most = Math.max(1, Math.floor(batch.length / 2));
    }
  }
}

function firstOf(ops, most) {
  const batch = [];
  let bytes = 0;
  for (const op of ops.slice(0, most)) {
    bytes += op.size;
    if (batch.length && bytes > BATCH_BYTES) break;
    batch.push(op);
  }
  return batch;
}

/** Send operations in one request; return those that got no receipt of their own. */
async function sendBatch(batch) {
  const told = batch.map(({ op_id, text }) => ({ op_id, text }));
  const { data } = await call("POST", "batch", asJson({ ops: told }));
  const receipts = new Map((data?.results ?? []).map((receipt) => [receipt.op, receipt]));
  const left = [];
  for (const op of batch) {
    if (!(await receive(op, receipts.get(op.op_id)))) left.push(op);
  }
  return left;
}

async function sendPhotos(who) {
  const mine = (await all("photos")).filter((photo) => !photo.sent && photo.owner === who.technician.uuid);
  let failed = 0;
  // Smallest first: with a weak line most of them arrive.
  for (const photo of mine.sort((a, b) => a.size - b.size)) {
    failed += (await sendPhoto(photo)) ? 0 : 1;
  }
  return failed;
}

async function sendPhoto(photo) {
  const kept = await get("bytes", photo.id);
  if (!kept) return false;
  const digest = new Uint8Array(photo.sha256.match(/../g).map((pair) => parseInt(pair, 16)));
  const headers = { "Content-Type": photo.type, "Content-Digest": `sha-256=:${toBase64(digest)}:` };
  try {
    const { data } = await call("PUT", `photos/${photo.id}`, { body: kept.buffer, headers });
    return await receivePhoto(photo, data);
  } catch (error) {
    if (!(error instanceof Refused) || error.status === 401) throw error;
    // Both bodies under one id are kept by the office.
    return error.status === 409 ? receivePhoto(photo, error.problem) : false;
  }
}
