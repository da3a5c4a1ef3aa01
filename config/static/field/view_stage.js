// One stage: cautions to read, questions to answer, tools to use, a hold point to pass.

import { button, goTo, h } from "./dom.js";
import { shownTime } from "./clock.js";
import { answer } from "./checks.js";
import { contextOf, gone } from "./context.js";
import { keepDraft } from "./drafts.js";
import { lacking, waitsFor } from "./holds.js";
import { redraw } from "./news.js";
import { saveArea } from "./saving.js";
import { STAGES } from "./steps.js";
import { t } from "./words.js";

export async function viewStage(uuid, code) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const stages = STAGES[context.visit.kind];
  const stage = stages.find((one) => one.code === code);
  const place = saveArea();
  const waiting = waitsFor(stages, stage, context);
  const isRead = !stage.cautions.length || context.state.check.has(`caution.${code}`);
  const isOpen = isRead && !waiting && !context.visit.ended_at;
  const after = stages[stages.indexOf(stage) + 1];
  return {
    title: t(`stage.${code}`),
    over: context.over,
    back: `/visit/${uuid}`,
    nodes: [
      waiting && h("p", { class: "note" }, t("stage.waits", { what: t(waiting.hold) })),
      stage.cautions.length > 0 && cautions(place, context, stage, isRead),
      isOpen && stage.checks.length > 0 && h("h2", {}, t("stage.questions")),
      isOpen && (await Promise.all(stage.checks.map((step) => question(place, context, step)))),
      isOpen && stage.tools.length > 0 && h("div", { class: "tools" }, stage.tools.map((tool) => goTo(toolPath(uuid, tool), t(`tool.${tool}`)))),
      place,
      isOpen && stage.hold && (await holdPoint(place, context, stage)),
      waiting && goTo(`/visit/${uuid}/stage/${waiting.code}`, t(`stage.${waiting.code}`), { class: "main-key" }),
    ],
    bar: isOpen && bar(place, context, stage, after),
  };
}

export const toolPath = (uuid, tool) => `/visit/${uuid}/${tool.replace("-", "/")}`;

function cautions(place, context, stage, isRead) {
  const lines = [
    h("ul", {}, stage.cautions.map((one) => h("li", {}, t(`caution.${one}`)))),
    h("p", {}, t("stage.cautions-law")),
  ];
  if (isRead) return h("details", { class: "caution" }, h("summary", {}, t("stage.cautions")), lines);
  return h("section", { class: "caution" }, h("h2", {}, t("stage.cautions")), lines,
    button(t("stage.cautions-read"), async () => {
      if (await answer(place, context, `caution.${stage.code}`, "YES")) redraw();
    }, { class: "main-key" }));
}

const ANSWERS = [["YES", "yes"], ["NO", "no"], ["NOT_APPLICABLE", "na"]];

async function question(place, context, step) {
  const former = context.state.check.get(step);
  const words = h("p", { id: `q-${step}` }, t(step));
  const keys = ANSWERS.map(([said, word]) =>
    button(t(word), async () => {
      if (await answer(place, context, step, said, former?.note ?? "")) redraw();
    }, { class: "answer", "aria-pressed": String(former?.answer === said) }));
  return h("div", { class: "question", role: "group", "aria-labelledby": words.id }, words,
    h("div", { class: "answers" }, keys),
    former?.answer === "NO" && (await noteOf(place, context, step, former)));
}

/** What was seen where the answer is no. Kept while typed, recorded with the key. */
async function noteOf(place, context, step, former) {
  const text = h("textarea", { name: "note", rows: 2, "aria-label": t("stage.note"), placeholder: t("stage.note") });
  text.value = former.note;
  const form = h("form", { class: "note-form" }, text, h("button", { type: "submit", class: "quiet" }, t("keep")));
  await keepDraft(form, `note/${context.visit.uuid}/${step}`);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (await answer(place, context, step, "NO", text.value.trim())) redraw();
  });
  return form;
}

async function holdPoint(place, context, stage) {
  const held = context.state.check.get(stage.hold);
  const title = h("h2", {}, t("stage.hold", { what: t(stage.hold) }));
  const at = held && shownTime(held.made_at);
  if (held?.answer === "YES") return h("section", { class: "hold hold-passed" }, title, h("p", {}, t("stage.passed", { at })));
  if (held) return h("section", { class: "hold" }, title, h("p", {}, t("stage.without", { at, why: held.note })));
  const lacks = lacking(stage, context);
  if (!lacks.length) return h("section", { class: "hold" }, title);
  return h("section", { class: "hold" }, title, h("p", {}, t("stage.lacks")),
    h("ul", {}, lacks.map((code) => h("li", {}, t(`lack.${code}`)))), await goWithout(place, context, stage));
}

async function goWithout(place, context, stage) {
  const why = h("textarea", { name: "why", rows: 2, required: true, "aria-label": t("stage.why"), placeholder: t("stage.why") });
  const form = h("form", { class: "note-form" }, why, h("button", { type: "submit", class: "quiet" }, t("stage.go-without")));
  await keepDraft(form, `note/${context.visit.uuid}/${stage.hold}`);
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    if (why.value.trim() && (await answer(place, context, stage.hold, "NO", why.value.trim()))) redraw();
  });
  return h("details", {}, h("summary", {}, t("stage.go-without")), form);
}

function bar(place, context, stage, after) {
  const isHeld = stage.hold && !context.state.check.has(stage.hold);
  if (isHeld && lacking(stage, context).length) return null;
  if (isHeld) {
    return button(t("stage.pass"), async () => {
      if (await answer(place, context, stage.hold, "YES")) redraw();
    }, { class: "main-key" });
  }
  const path = after ? `/stage/${after.code}` : "";
  return goTo(`/visit/${context.visit.uuid}${path}`, after ? t("stage.next") + ": " + t(`stage.${after.code}`) : t("back"), { class: "main-key" });
}
