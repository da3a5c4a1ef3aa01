// Which open findings this repair cures.

import { localDay } from "./clock.js";
import { contextOf, gone } from "./context.js";
import { button, goTo, h } from "./dom.js";
import { uuid7 } from "./ids.js";
import { redraw } from "./news.js";
import { save, saveArea } from "./saving.js";
import { foundHere } from "./visits.js";
import { findingLine } from "./view_roof.js";
import { t } from "./words.js";

export async function viewCures(uuid) {
  const context = await contextOf(uuid);
  if (!context) return gone();
  const { visit, state } = context;
  const place = saveArea();
  const here = await foundHere(visit.roof);
  const curedNow = new Set(state.cure.map((one) => one.finding));
  // The office's list may tell of a finding as it was before this phone corrected it.
  const own = new Set(here.findings.flatMap(namesOf));
  const listed = visit.roof.open_findings.filter((one) => !own.has(one.uuid));
  const findings = [...listed, ...here.findings].filter((one) => isIn(curedNow, one) || !isIn(here.cured, one));
  return {
    title: t("tool.cures"), over: context.over, back: `/visit/${uuid}`,
    nodes: [
      visit.kind !== "REPAIR" && h("p", { class: "note" }, t("cures.only-repair")),
      findings.length === 0 && h("p", {}, t("cures.none")),
      place,
      h("ul", { class: "cards" }, findings.map((one) => h("li", {}, h("p", { class: "line" }, findingLine(one)),
        isIn(curedNow, one) ? h("p", { class: "done" }, t("cures.done"))
          : visit.kind === "REPAIR" && button(t("cures.mark"), async () => {
            const body = { uuid: uuid7(), finding: one.uuid, happened_on: localDay() };
            if (await save(place, visit, "cure", body)) redraw();
          })))),
      goTo(`/visit/${uuid}/finding`, t("tool.finding"), { class: "key quiet" }),
    ],
  };
}

/** What a finding was called, before and after corrections. */
const namesOf = (one) => one.names ?? [one.uuid];
const isIn = (uuids, one) => namesOf(one).some((uuid) => uuids.has(uuid));
