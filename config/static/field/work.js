// The list of work that was downloaded last: a snapshot, shown as it is without a line.

import { call } from "./api.js";
import { tell } from "./news.js";
import { get, put } from "./store.js";

const FRESH_MS = 60_000;
let lastAsked = 0;

export const downloadedWork = () => get("meta", "work");

export async function refreshWork({ now = false } = {}) {
  if (!now && Date.now() - lastAsked < FRESH_MS) return;
  const kept = await downloadedWork();
  const headers = kept?.etag ? { "If-None-Match": kept.etag } : {};
  const { status, data, etag } = await call("GET", "work", { headers });
  lastAsked = Date.now();
  const list = status === 304 ? kept.list : data;
  await put("meta", { list, etag: etag ?? kept?.etag ?? null, at: new Date().toISOString() }, "work");
  tell("work");
}

export const systemOf = (list, code) => list?.systems.find((system) => system.code === code) ?? null;

