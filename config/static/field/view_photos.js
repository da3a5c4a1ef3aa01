// Photos: what of, before or after, then the camera. One at a time, bytes first.

import { contextOf, gone } from "./context.js";
import { choice, field, h, button } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { uuid7 } from "./ids.js";
import { redraw } from "./news.js";
import { drawSmall, isRoom, readPhoto, storable } from "./photos.js";
import { walkingOrder } from "./plan.js";
import { save, saveArea } from "./saving.js";
import { allBy, get } from "./store.js";
import { shownBytes } from "./units.js";
import { t } from "./words.js";

export async function viewPhotos(uuid, findingUuid = null) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const { visit, state } = context;
  const place = saveArea();
  const finding = state.finding.find((one) => one.uuid === findingUuid) ?? null;
  const seals = walkingOrder(state.penetrations);
  const form = h("form", { novalidate: true },
    finding && h("p", { class: "note" }, t("finding.photo-next"), " ", t(`cause.${finding.cause}`), " ", finding.note),
    WORKS.includes(visit.kind) && choice("when", t("photos.when"), [["before", t("photos.before")], ["after", t("photos.after")]], "before"),
    !finding && seals.length > 0 && choice("label", t("photos.of"), [["", t("photos.whole")], ...seals.map((one, index) => [one.label, `${index + 1} ${one.label}${countOf(state, one)}`])], ""),
    field(t("photos.caption"), h("input", { name: "caption", autocomplete: "off", maxlength: 400 }), t("optional")),
    place);
  await keepDraft(form, `photos/${uuid}`);
  const back = findingUuid ? `/visit/${uuid}/finding` : `/visit/${uuid}`;
  return {
    title: t("tool.photos"), over: context.over, back,
    nodes: [form, await soFar(visit, state)],
    bar: !visit.ended_at && camera((file) => keepPhoto({ place, form, context, finding, file })),
  };
}

// Elsewhere nothing is done between two photos; a survey comes before everything.
const WORKS = ["INSTALLATION", "REPAIR", "LEAK_CALL"];

const isBefore = (visit, when) => (WORKS.includes(visit.kind) ? when === "before" : visit.kind === "SURVEY" || null);

const countOf = (state, one) => {
  const number = state.photo.filter((photo) => photo.penetration_label === one.label).length;
  return number ? ` (${number})` : "";
};

function camera(onfile) {
  const input = h("input", { type: "file", accept: "image/*", capture: "environment", id: "camera", class: "unseen" });
  const words = h("span", {}, t("photos.take"));
  input.addEventListener("change", async () => {
    const [file] = input.files;
    if (!file) return;
    words.textContent = t("photos.keeping");
    input.disabled = true;
    await onfile(file);
    input.disabled = false;
    input.value = "";
    words.textContent = t("photos.take");
  });
  return [input, h("label", { for: "camera", class: "main-key" }, words)];
}

async function keepPhoto({ place, form, context, finding, file }) {
  if (!(await isRoom())) {
    place.replaceChildren(h("p", { class: "fault", role: "alert" }, t("photos.full")));
    return;
  }
  const photo = await readPhoto(file);
  await record({ place, context, photo, finding, said: valuesOf(form) });
}

/** The newest photo of the same thing before the work: the two are a pair. */
function lastBefore(state, { finding, penetration_label: label }) {
  const same = state.photo.filter((one) => one.is_before && one.finding === finding && one.penetration_label === label);
  return same.at(-1)?.uuid ?? null;
}

/** Keep the bytes with their operation; a refused photo waits behind a key. */
async function record({ place, context, photo, finding, said }) {
  const { when, label = "", caption } = said;
  const words = [caption.trim(), photo.isDerived ? t("photos.smaller") : ""].filter(Boolean).join(" ");
  const { visit, state } = context;
  const shows = { finding: finding?.uuid ?? null, penetration_label: finding?.penetration_label ?? label ?? "" };
  const at = finding ?? (label && state.penetrations.find((one) => one.label === label));
  const before = isBefore(visit, when);
  const body = {
    uuid: uuid7(), photo: photo.id, sha256: photo.sha256, media_type: photo.type, caption: words, ...shows,
    x_m: at?.x_m ?? null, y_m: at?.y_m ?? null, is_before: before, after_of: before === false ? lastBefore(state, shows) : null,
  };
  if (await save(place, context.visit, "photo", body, { photo: storable(photo) })) redraw();
  else place.append(button(t("again"), () => record({ place, context, photo, finding, said })));
}

async function soFar(visit, state) {
  if (!state.photo.length) return null;
  const kept = new Map((await allBy("photos", "visit", visit.uuid)).map((photo) => [photo.id, photo]));
  const last = [...state.photo].reverse();
  return [h("h2", {}, t("photos.kept")), h("ul", { class: "photos" }, last.map((one) => h("li", {}, small(one.photo), h("span", {}, line(one, kept.get(one.photo))))))];
}

function line(one, kept) {
  const where = kept && !kept.sent ? `${t("photos.waits")}, ${shownBytes(kept.size)}` : t("photos.sent");
  return [one.is_before === null ? "" : t(one.is_before ? "photos.before" : "photos.after"), one.penetration_label, one.caption, where].filter(Boolean).join(" · ");
}

function small(id) {
  const canvas = h("canvas", { width: 96, height: 72, "aria-hidden": "true" });
  get("bytes", id).then((bytes) => bytes && get("photos", id).then((photo) => photo && drawSmall(canvas, { buffer: bytes.buffer, type: photo.type })));
  return canvas;
}
