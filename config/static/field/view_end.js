// The end of a visit: what was captured, who signs, and the result.

import { localDay, localInstant, shownTime } from "./clock.js";
import { contextOf, gone } from "./context.js";
import { choice, field, h } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { sealUnfinished } from "./filmwork.js";
import { stageState } from "./holds.js";
import { uuid7 } from "./ids.js";
import { redraw } from "./news.js";
import { seal } from "./outbox.js";
import { storable, withHash } from "./photos.js";
import { attempt, save, saveArea } from "./saving.js";
import { signaturePad } from "./signature.js";
import { HAS_RESULT, STAGES } from "./steps.js";
import { end } from "./visits.js";
import { t } from "./words.js";

export async function viewEnd(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const { visit } = context;
  if (visit.ended_at) return { title: t("visit.end"), over: context.over, back: "/", nodes: [h("p", {}, t("visit.ended"))] };
  const place = saveArea();
  return {
    title: t("visit.end"), over: context.over, back: `/visit/${uuid}`,
    nodes: [summary(context), await signForm(context), await endForm(place, context)],
  };
}

const COUNTED = ["film", "climate", "coat_log", "moisture", "finding", "cure", "photo", "signature"];

function summary(context) {
  const { visit, state } = context;
  const open = STAGES[visit.kind].filter((stage) => stage.hold && stageState(stage, context) !== "PASSED");
  const lines = COUNTED.filter((kind) => state[kind].length).map((kind) => `${t(`op.${kind}`)}: ${state[kind].length}`);
  return [h("h2", {}, t("end.summary")), h("ul", { class: "plain" }, lines.map((line) => h("li", {}, line))),
    open.length > 0 && h("p", { class: "note" }, t("end.lacks", { stages: open.map((stage) => t(stage.hold)).join(", ") }))];
}

async function signForm(context) {
  const { visit, state } = context;
  const told = saveArea();
  const pad = signaturePad();
  const name = h("input", { name: "signer", autocomplete: "off", maxlength: 120 });
  const form = h("form", { novalidate: true },
    h("h2", {}, t("end.sign")),
    h("ul", { class: "plain" }, state.signature.map((one) => h("li", {}, `${t("sign.kept", { name: one.signer_name, at: shownTime(one.signed_at) })} (${t(`sign.${one.role}`)})`))),
    choice("role", t("sign.role"), [["OWNER", t("sign.OWNER")], ["TECHNICIAN", t("sign.TECHNICIAN")]], "OWNER"),
    field(t("sign.name"), name),
    pad.element(() => name.value.trim()),
    told,
    h("button", { type: "submit" }, t("sign.keep")));
  await keepDraft(form, `sign/${visit.uuid}`);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (!name.value.trim() || pad.isBlank()) {
      told.replaceChildren(h("p", { class: "fault" }, t("sign.need")));
      return;
    }
    const photo = await withHash({ buffer: await pad.png(), type: "image/png" });
    const body = { uuid: uuid7(), photo: photo.id, sha256: photo.sha256, signer_name: name.value.trim(), role: valuesOf(form).role, signed_at: localInstant() };
    if (await save(told, visit, "signature", body, { photo: storable(photo), drafts: [`sign/${visit.uuid}`] })) redraw();
  });
  return form;
}

async function endForm(place, context) {
  const { visit } = context;
  const hasResult = HAS_RESULT.includes(visit.kind);
  const form = h("form", { novalidate: true, class: "closing" },
    hasResult && choice("result", t("end.result"), ["PASS", "FAIL", "NONE"].map((one) => [one, t(`end.${one}`)]), null),
    visit.kind === "INSTALLATION" && h("label", { class: "tick" }, h("input", { type: "checkbox", name: "completed" }), h("span", {}, t("end.completed"))),
    field(t("end.note"), h("textarea", { name: "note", rows: 3, maxlength: 4000 }), t("optional")),
    place,
    h("button", { type: "submit", class: "main-key" }, t("end.do")));
  await keepDraft(form, `end/${visit.uuid}`);
  const isSerious = context.state.finding.some((one) => one.severity === "SERIOUS");
  const warn = () => {
    const passes = isSerious && valuesOf(form).result === "PASS";
    place.replaceChildren(...(passes ? [h("p", { class: "note" }, t("end.serious"))] : []));
  };
  form.addEventListener("input", warn);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const { result = "NONE", completed = false, note } = valuesOf(form);
    if (result === null) {
      place.replaceChildren(h("p", { class: "fault" }, t("end.choose")));
      return;
    }
    form.querySelector("button").disabled = true;
    const isDone = await attempt(place, () => close(context, { result, completed, note: note.trim() }));
    form.querySelector("button").disabled = false;
    if (isDone) location.hash = "#/";
  });
  return form;
}

function begunByOffice({ installation, system, coach, started_on: started, completed_on: completed }) {
  return installation && { uuid: installation, system, substrate: coach.substrate, started_on: started, completed_on: completed };
}

async function close(context, { result, completed, note }) {
  const { visit, state } = context;
  await sealUnfinished(context, ({ kind, body, extra }) => seal(visit, kind, body, extra));
  const laid = state.installation.at(-1) ?? begunByOffice(visit.roof);
  if (completed && laid && laid.completed_on === null) {
    const { system, substrate, started_on: started } = laid;
    await seal(visit, "installation", { uuid: uuid7(), system, substrate, started_on: started, completed_on: localDay(), supersedes: laid.uuid });
  }
  await end(visit, { result, note });
  return true;
}
