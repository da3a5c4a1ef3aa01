// The strip above every view: what is still on this phone, and whether it is going.

import { h } from "./dom.js";
import { listen } from "./news.js";
import { stillHere } from "./outbox.js";
import { sending } from "./sync.js";
import { shownBytes } from "./units.js";
import { count, t } from "./words.js";

let turn = 0;

export function drawStrip(strip) {
  const redraw = () => fill(strip);
  for (const what of ["outbox", "sync", "redraw", "account"]) listen(what, redraw);
  redraw();
}

async function fill(strip) {
  turn += 1;
  const mine = turn;
  const { text, state } = await told();
  // An older count must not overwrite a newer one.
  if (mine !== turn) return;
  strip.dataset.state = state;
  strip.replaceChildren(h("a", { href: "#/phone" }, h("span", { role: "status" }, text)));
}

export async function told() {
  const here = await stillHere();
  const parts = [here.records && count("here.records", here.records), here.photos && count("here.photos", here.photos)];
  const what = parts.filter(Boolean).join(", ");
  const all = what ? t("here.on", { what, bytes: shownBytes(here.bytes) }) : t("here.none");
  const key = sending.phase === "idle" ? sending.problem : sending.phase;
  const isQuiet = !key || (key === "sending" && !what);
  return { text: isQuiet ? all : `${all} · ${t(`sync.${key}`)}`, state: what || key === "revoked" ? "holds" : "clear" };
}
