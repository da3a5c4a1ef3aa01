// One booking: the roof as the office knows it, and the way into the visit.

import { sizeOf } from "./context.js";
import { shownDay } from "./clock.js";
import { goTo, h } from "./dom.js";
import { length, planView } from "./planview.js";
import { walkingOrder } from "./plan.js";
import { KINDS } from "./steps.js";
import { t } from "./words.js";
import { downloadedWork } from "./work.js";

export async function viewRoof(bookingUuid) {
  const work = await downloadedWork();
  const booking = work?.list.bookings.find((one) => one.uuid === bookingUuid);
  if (!booking) return { title: t("work"), back: "/", nodes: [h("p", {}, t("work.none"))] };
  const { roof } = booking;
  const others = KINDS.filter((kind) => kind !== booking.kind);
  return {
    title: roof.coach.unit_no,
    over: t(`kind.${booking.kind}`),
    back: "/",
    nodes: [
      coachLines(booking),
      roofPlan(roof),
      found(roof),
      h("details", {}, h("summary", {}, t("roof.other")),
        h("ul", { class: "cards" }, others.map((kind) => h("li", {}, goTo(`/begin/${booking.uuid}/${kind}`, t(`kind.${kind}`)))))),
    ],
    bar: goTo(`/begin/${booking.uuid}/${booking.kind}`, t("roof.begin", { kind: t(`kind.${booking.kind}`) }), { class: "main-key" }),
  };
}

function coachLines({ roof, planned_on: on, window, place }) {
  const { coach, standing, last_visit: last } = roof;
  const lines = [
    [shownDay(on), window, place].filter(Boolean).join(", "),
    [coach.make, coach.model, coach.year].filter(Boolean).join(" "),
    [coach.length_m && t("roof.size", { length: length(Number(coach.length_m)), width: length(Number(coach.width_m)) }), coach.substrate && t(`substrate.${coach.substrate}`)].filter(Boolean).join(", "),
    roof.completed_on && t("roof.completed", { on: shownDay(roof.completed_on) }),
    standing && [t("roof.standing", { word: t(`standing.${standing.word}`) }), standing.next_due_on && t("roof.due", { on: shownDay(standing.next_due_on) })].filter(Boolean).join(" "),
    last && t("roof.last", { kind: t(`kind.${last.kind}`), on: shownDay(last.happened_on) }),
  ];
  return lines.filter(Boolean).map((line) => h("p", { class: "line" }, line));
}

function roofPlan(roof) {
  const seals = walkingOrder(roof.penetrations);
  const marks = roof.open_findings.filter((one) => one.x_m !== null).map((one) => ({ x: Number(one.x_m), y: Number(one.y_m), shape: "finding", text: one.note }));
  return [
    planView({ ...sizeOf({ roof }), penetrations: seals, marks }),
    seals.length > 0 && [h("h2", {}, t("roof.seals")), h("ol", { class: "plain" }, seals.map((one) => h("li", {}, sealName(one))))],
  ];
}

function found(roof) {
  if (!roof.open_findings.length) return null;
  return [h("h2", {}, t("roof.found")), h("ul", { class: "plain" }, roof.open_findings.map((one) => h("li", {}, findingLine(one))))];
}

/** The label, and the kind where the label does not say it. */
export function sealName(one) {
  const kind = t(`pen.${one.kind}`);
  return one.label.toLowerCase().includes(kind) ? one.label : `${one.label}, ${kind}`;
}

export function findingLine({ severity, cause, penetration_label: label, note, happened_on: on }) {
  return [h("strong", {}, t(`severity.${severity}`)), " ", [cause && t(`cause.${cause}`), label, note, shownDay(on)].filter(Boolean).join(" · ")];
}
