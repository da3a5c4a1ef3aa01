// Begins a visit; an installation first says what goes on which skin.

import { localDay } from "./clock.js";
import { choice, h } from "./dom.js";
import { uuid7 } from "./ids.js";
import { account } from "./pairing.js";
import { attempt, saveArea } from "./saving.js";
import { seal } from "./outbox.js";
import { all } from "./store.js";
import { begin, captured } from "./visits.js";
import { t } from "./words.js";
import { downloadedWork } from "./work.js";

const SUBSTRATES = ["EPDM", "TPO", "ALUMINIUM", "FIBREGLASS"];

export async function viewBegin(bookingUuid, kind) {
  const [work, who] = await Promise.all([downloadedWork(), account()]);
  const booking = work.list.bookings.find((one) => one.uuid === bookingUuid);
  const place = saveArea();
  const form = h("form", {}, asksWhat(kind, booking.roof) && laying(work.list, booking.roof), place,
    h("button", { type: "submit", class: "main-key" }, t("roof.begin", { kind: t(`kind.${kind}`) })));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const chosen = Object.fromEntries(new FormData(form));
    if (asksWhat(kind, booking.roof) && !(chosen.system && chosen.substrate)) {
      place.replaceChildren(h("p", { class: "fault" }, t("begin.need")));
      return;
    }
    form.querySelector("button").disabled = true;
    const visit = await attempt(place, () => beginOnce({ booking, kind, owner: who.technician.uuid, systems: work.list.systems, chosen }));
    form.querySelector("button").disabled = false;
    if (visit) location.replace(`#/visit/${visit.uuid}`);
  });
  return { title: t("roof.begin", { kind: t(`kind.${kind}`) }), over: booking.roof.coach.unit_no, back: `/roof/${bookingUuid}`, nodes: [form] };
}

/** An installation that the office began already goes on as it is. */
const asksWhat = (kind, roof) => kind === "INSTALLATION" && !roof.installation;

function laying(list, roof) {
  const systems = list.systems.map((system) => [system.code, system.title]);
  return [
    choice("system", t("begin.system"), systems, roof.system),
    choice("substrate", t("begin.substrate"), SUBSTRATES.map((one) => [one, t(`substrate.${one}`)]), roof.coach.substrate),
  ];
}

async function beginOnce({ booking, kind, owner, systems, chosen }) {
  const same = (await all("visits")).find((one) => one.booking?.uuid === booking.uuid && one.kind === kind && !one.ended_at);
  // Another kind than the booking asks for leaves the booking open.
  const visit = same ?? await begin({ booking: kind === booking.kind ? booking : null, kind, roof: { ...booking.roof }, owner, systems });
  if (asksWhat(kind, visit.roof) && !(await captured(visit)).installation.length) {
    await seal(visit, "installation", { uuid: uuid7(), system: chosen.system, substrate: chosen.substrate, started_on: localDay(), completed_on: null, supersedes: null });
  }
  return visit;
}
