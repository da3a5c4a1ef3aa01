// What every view of a visit needs: the visit, what was captured, and its system.

import { captured, visitOf } from "./visits.js";
import { t } from "./words.js";
import { downloadedWork, systemOf } from "./work.js";

/** Return {visit, state, system, over}, or null once the visit has left this phone. */
export async function contextOf(uuid) {
  const [begun, work] = await Promise.all([visitOf(uuid), downloadedWork()]);
  if (!begun || begun.sent) return null;
  const visit = { ...begun, roof: asKnownNow(begun.roof, work?.list) };
  const state = await captured(visit);
  const code = state.installation.at(-1)?.system ?? visit.roof.system;
  // A list downloaded later may lack this system: the visit keeps its own copy.
  const system = systemOf(work?.list, code) ?? visit.systems?.find((one) => one.code === code) ?? null;
  return { visit, state, system, over: `${visit.roof.coach.unit_no} · ${t(`kind.${visit.kind}`)}` };
}

/** The roof of the visit, with the penetrations and findings of the newest list. */
function asKnownNow(roof, list) {
  const newer = list?.bookings.map((booking) => booking.roof).find((one) => one.uuid === roof.uuid);
  return newer ? { ...roof, penetrations: newer.penetrations, open_findings: newer.open_findings } : roof;
}

export const gone = () => ({ title: t("work"), back: "/", nodes: [paragraph(t("visit.gone"))] });

function paragraph(text) {
  const element = document.createElement("p");
  element.textContent = text;
  return element;
}

// A coach that nobody measured yet is drawn as a usual one: places are still asked.
const USUAL_M = { length: 9, width: 2.5 };

export const sizeOf = ({ roof }) => ({
  lengthM: Number(roof.coach.length_m ?? USUAL_M.length),
  widthM: Number(roof.coach.width_m ?? USUAL_M.width),
});
