// A visit under way: its stages in order, the next one on the thumb's key.

import { goTo, h } from "./dom.js";
import { contextOf, gone } from "./context.js";
import { stageState, waitsFor } from "./holds.js";
import { STAGES } from "./steps.js";
import { t } from "./words.js";

const TOOLS = {
  SURVEY: ["photos", "finding", "deck", "seals", "patch", "climate"],
  INSTALLATION: ["climate", "coats", "film", "finding", "photos", "seals", "deck", "recoat"],
  INSPECTION: ["finding", "photos", "seals", "film", "deck"],
  LEAK_CALL: ["photos", "finding", "deck", "seals", "climate"],
  REPAIR: ["cures", "photos", "climate", "coats", "film", "deck", "seals", "finding"],
  REINSTATEMENT: ["finding", "photos", "seals", "film", "deck"],
};

export async function viewVisit(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const { visit } = context;
  const stages = STAGES[visit.kind];
  const states = stages.map((stage) => [stage, howItStands(stages, stage, context)]);
  const next = states.find(([, state]) => state === "OPEN")?.[0] ?? null;
  return {
    title: visit.roof.coach.unit_no,
    over: t(`kind.${visit.kind}`),
    back: "/",
    nodes: [
      visit.ended_at && h("p", { class: "note" }, t("visit.ended")),
      h("h2", {}, t("visit.stages")),
      h("ol", { class: "stages" }, states.map(([stage, state]) => h("li", {}, stageLink(visit, stage, state)))),
      h("h2", {}, t("visit.tools")),
      h("div", { class: "tools" }, TOOLS[visit.kind].map((tool) => goTo(`/visit/${uuid}/${tool}`, t(`tool.${tool}`)))),
      next && !visit.ended_at && goTo(`/visit/${uuid}/end`, t("visit.end"), { class: "key quiet" }),
    ],
    bar: !visit.ended_at && (next
      ? goTo(`/visit/${uuid}/stage/${next.code}`, t("visit.next", { stage: t(`stage.${next.code}`) }), { class: "main-key" })
      : goTo(`/visit/${uuid}/end`, t("visit.end"), { class: "main-key" })),
  };
}

function howItStands(stages, stage, context) {
  const state = stageState(stage, context);
  return state === "OPEN" && waitsFor(stages, stage, context) ? "WAITS" : state;
}

function stageLink(visit, stage, state) {
  return h("a", { href: `#/visit/${visit.uuid}/stage/${stage.code}`, class: `stage stage-${state.toLowerCase()}` },
    h("span", {}, t(`stage.${stage.code}`)), h("span", { class: "stage-state" }, t(`state.${state}`)));
}
