// A visit that nobody booked: a leak call met at a campground, a coach across the lane.

import { choice, field, h } from "./dom.js";
import { keepDraft, valuesOf } from "./drafts.js";
import { uuid7 } from "./ids.js";
import { account } from "./pairing.js";
import { attempt, saveArea } from "./saving.js";
import { KINDS } from "./steps.js";
import { begin } from "./visits.js";
import { t } from "./words.js";
import { downloadedWork } from "./work.js";

const COACH_MAX = 40;
// What goes on which skin is asked where the roof is known: through the list.
const BEGUN_HERE = KINDS.filter((kind) => kind !== "INSTALLATION");

export async function viewUnbooked() {
  const [work, who] = await Promise.all([downloadedWork(), account()]);
  const roofs = (work?.list.bookings ?? []).map((one) => one.roof);
  const place = saveArea();
  const names = h("datalist", { id: "coaches-known" }, [...new Set(roofs.map((roof) => roof.coach.unit_no))].map((name) => h("option", { value: name })));
  const form = h("form", { novalidate: true },
    field(t("unbooked.coach"), h("input", { name: "coach", autocomplete: "off", autocapitalize: "characters", maxlength: COACH_MAX, list: "coaches-known" }), t("unbooked.coach-help")),
    names,
    choice("kind", t("unbooked.kind"), BEGUN_HERE.map((kind) => [kind, t(`kind.${kind}`)]), "LEAK_CALL"),
    place,
    h("button", { type: "submit", class: "main-key" }, t("unbooked.do")));
  await keepDraft(form, "unbooked");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const { coach, kind } = valuesOf(form);
    const told = coach.trim();
    if (!told) {
      place.replaceChildren(h("p", { class: "fault" }, t("unbooked.need")));
      return;
    }
    form.querySelector("button").disabled = true;
    const roof = roofs.find((one) => isSame(one.coach.unit_no, told)) ?? metRoof(told);
    const visit = await attempt(place, () => begin({ kind, roof, owner: who.technician.uuid, systems: work?.list.systems ?? [], drafts: ["unbooked"] }));
    form.querySelector("button").disabled = false;
    if (visit) location.replace(`#/visit/${visit.uuid}`);
  });
  return { title: t("unbooked.begin"), back: "/", nodes: [h("p", {}, t("unbooked.why")), form] };
}

const isSame = (one, other) => one.trim().toUpperCase() === other.toUpperCase();

/** A roof that nobody here knows: its id is made up, the office says which it is. */
function metRoof(told) {
  return {
    uuid: uuid7(), is_met: true, roof_no: 1,
    coach: { unit_no: told, make: "", model: "", year: null, length_m: null, width_m: null, substrate: null },
    system: null, installation: null, started_on: null, completed_on: null,
    penetrations: [], open_findings: [], last_visit: null, standing: null,
    film_rule: { level: 3, areas_required: null, spots_per_area: 5, readings_per_spot: 3, notch_policy: "LOWER" },
  };
}
