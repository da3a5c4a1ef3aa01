// The list of work: what was begun here, what is planned, what the office has received.

import { NoAnswer, Refused } from "./api.js";
import { localDay, shownDay, shownTime } from "./clock.js";
import { button, goTo, h } from "./dom.js";
import { listen, redraw } from "./news.js";
import { all } from "./store.js";
import { newerVersion, useNewer } from "./update.js";
import { count, t } from "./words.js";
import { downloadedWork, refreshWork } from "./work.js";
import { account } from "./pairing.js";

export async function viewWork() {
  const [work, visits, who] = await Promise.all([downloadedWork(), all("visits"), account()]);
  const open = visits.filter((visit) => !visit.sent && visit.owner === who.technician.uuid);
  const sent = visits.filter((visit) => visit.sent && visit.owner === who.technician.uuid);
  const begun = new Set(visits.map((visit) => visit.booking?.uuid));
  const planned = (work?.list.bookings ?? []).filter((one) => one.state !== "DONE" && !begun.has(one.uuid));
  const stop = ["work", "visits", "update"].map((what) => listen(what, redraw));
  return {
    title: t("work"),
    nodes: [
      newerVersion() && h("div", { class: "note" }, h("p", {}, t("work.update")), button(t("work.update-do"), useNewer)),
      open.length > 0 && [h("h2", {}, t("work.open")), list(open.map(openCard))],
      h("h2", {}, t("work.planned")),
      planned.length > 0 ? list(planned.map(plannedCard)) : h("p", {}, work ? t("work.none") : t("work.never")),
      age(work),
      button(t("work.refresh"), ask, { class: "quiet" }),
      goTo("/unbooked", t("unbooked.begin"), { class: "key quiet" }),
      sent.length > 0 && [h("h2", {}, t("work.sent")), list(sent.map(sentCard))],
    ],
    stop: () => stop.forEach((end) => end()),
  };
}

const list = (cards) => h("ul", { class: "cards" }, cards.map((card) => h("li", {}, card)));

function openCard(visit) {
  return h("a", { class: "card card-open", href: `#/visit/${visit.uuid}` },
    h("strong", {}, visit.roof.coach.unit_no), " ", t(`kind.${visit.kind}`),
    h("span", { class: "sub" }, visit.ended_at ? t("visit.ended") : `${t("work.go-on")} · ${shownDay(visit.happened_on)}`));
}

function plannedCard({ uuid, kind, planned_on: on, window, place, roof }) {
  const day = on === localDay() ? t("today") : shownDay(on);
  const { coach } = roof;
  return h("a", { class: "card", href: `#/roof/${uuid}` },
    h("strong", {}, coach.unit_no), " ", t(`kind.${kind}`),
    h("span", { class: "sub" }, [day, window].filter(Boolean).join(", ")),
    h("span", { class: "sub" }, [coach.make, coach.model, coach.year].filter(Boolean).join(" ")),
    place && h("span", { class: "sub" }, place));
}

function sentCard(visit) {
  const { records, photos, notices } = visit.sent;
  return h("div", { class: "card card-sent" },
    h("strong", {}, visit.roof.coach.unit_no), " ", t(`kind.${visit.kind}`),
    h("span", { class: "sub" }, t("work.sent-line", { records: count("here.records", records), photos: count("here.photos", photos) })),
    notices.length > 0 && [h("span", { class: "sub" }, t("phone.notices")), h("ul", {}, notices.map(noticeLine))]);
}

export function noticeLine({ kind, verdict, reason, flags }) {
  const flagged = flags.map((flag) => t(`flag.${flag}`)).join(", ");
  return h("li", {}, [`${t(`op.${kind}`)}: ${t(`verdict.${verdict}`)}`, flagged, reason].filter(Boolean).join(" · "));
}

function age(work) {
  if (!work) return null;
  const days = Math.floor((Date.now() - new Date(work.at)) / 86_400_000);
  return [
    h("p", { class: "hint" }, t("work.at", { at: shownTime(work.at) })),
    days >= 3 && h("p", { class: "fault" }, t("work.stale", { days })),
  ];
}

async function ask() {
  try {
    await refreshWork({ now: true });
  } catch (error) {
    if (!(error instanceof NoAnswer) && !(error instanceof Refused)) throw error;
  }
  redraw();
}

