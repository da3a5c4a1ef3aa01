// From the camera to bytes that can be kept: the original wherever it fits.

import { sha256, toHex, uuid7 } from "./ids.js";

const ORIGINAL_MAX = 8_000_000;
const SMALLER_PX = 2560;
const FULL_RATIO = 0.8;

/** Whether another photo may be kept; unknown storage counts as room. */
export async function isRoom() {
  const told = await navigator.storage?.estimate?.().catch(() => null);
  return !told?.quota || told.usage / told.quota < FULL_RATIO;
}

/** Read one photo. Originals are kept as they are: a smaller copy proves less. */
export async function readPhoto(file) {
  const isDerived = file.size > ORIGINAL_MAX;
  const blob = isDerived ? await smaller(file) : file;
  const buffer = await blob.arrayBuffer();
  return withHash({ buffer, type: blob.type || "image/jpeg", isDerived });
}

export async function withHash({ buffer, type, isDerived = false }) {
  const hash = toHex(await sha256(buffer));
  return { id: uuid7(), buffer, type, size: buffer.byteLength, sha256: hash, isDerived };
}

async function smaller(file) {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, SMALLER_PX / Math.max(picture.width, picture.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(picture.width * scale);
  canvas.height = Math.round(picture.height * scale);
  canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.85));
}

/** Draw a small look at a photo; one that this browser cannot decode stays blank. */
export async function drawSmall(canvas, { buffer, type }) {
  try {
    const picture = await createImageBitmap(new Blob([buffer], { type }), { resizeWidth: 96 });
    canvas.width = picture.width;
    canvas.height = picture.height;
    canvas.getContext("2d").drawImage(picture, 0, 0);
    picture.close();
  } catch {
    canvas.dataset.unread = "yes";
  }
}

/** What of a photo is stored beside its bytes. */
export function storable({ id, buffer, type, size, sha256: hash }) {
  return { id, buffer, type, size, sha256: hash };
}
