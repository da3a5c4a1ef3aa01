// The last resort: everything unsent as one file that the office can take in.

import { localInstant } from "./clock.js";
import { toBase64 } from "./ids.js";
import { queued } from "./outbox.js";
import { account } from "./pairing.js";
import { all, get } from "./store.js";

/** Build the file piece by piece: photos are large and a phone's memory is not. */
export async function queueFile() {
  const who = await account();
  const head = { made_at: localInstant(), device: who?.device ?? null, technician: who?.technician ?? null };
  const ops = (await queued()).map(({ op_id, text, sha256 }) => ({ op_id, text, sha256 }));
  const parts = [JSON.stringify(head).slice(0, -1), ',"ops":', JSON.stringify(ops), ',"photos":['];
  let comma = "";
  for (const photo of (await all("photos")).filter((one) => !one.sent)) {
    const kept = await get("bytes", photo.id);
    const { id, type, sha256 } = photo;
    const base64 = kept ? toBase64(new Uint8Array(kept.buffer)) : "";
    parts.push(comma, JSON.stringify({ photo: id, media_type: type, sha256, base64 }));
    comma = ",";
  }
  parts.push("]}");
  return new Blob(parts, { type: "application/json" });
}

export async function download() {
  const address = URL.createObjectURL(await queueFile());
  const link = document.createElement("a");
  link.href = address;
  link.download = `field-work-${localInstant().replaceAll(":", "").slice(0, 15)}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}
