"""The inspection report: what one visit found, cured and read, and what follows."""

from __future__ import annotations

from warranty.documents import style, wording
from warranty.documents.binder import Binder, Column
from warranty.documents.exhibit_pages import add_photos
from warranty.documents.finding_pages import add_findings, findings_placed, pennants_of
from warranty.documents.opening_pages import LAW_SENTENCE
from warranty.documents.plan_drawing import roof_plan_drawing
from warranty.documents.press import PageNumbers, RunningLines, press
from warranty.documents.report_facts import CuredFacts, FilmReadFacts, ReportFacts
from warranty.documents.roof_pages import CLIMATE_COLUMNS, climate_row
from warranty.documents.text import Strong, Words

_CARE_SENTENCE = (
    "Care of the roof is work at height: use a ladder that is footed and held, stay off"
    " a wet or soft roof, and leave the rest to somebody who is equipped. Data sheets,"
    " local codes and licensed trades come first."
)


def inspection_report_pdf(facts: ReportFacts) -> bytes:
    """Return the report of one visit as a PDF file; equal facts give equal bytes.

    Parameters
    ----------
    facts : ReportFacts
        Everything to print, already computed.
    """

    def bind(_pages: PageNumbers) -> Binder:
        return _bound(facts)

    return press(bind, _running_lines(facts))


def _running_lines(facts: ReportFacts) -> RunningLines:
    visit = facts.visit
    return RunningLines(
        title=f"Inspection report, visit {visit.ref}, coach {facts.coach.unit_no}",
        subject=f"{visit.kind} on {visit.happened_on}, roof {facts.roof_no}",
        author=facts.company.name,
        head_left=f"Visit {visit.ref}",
        head_right=facts.company.name,
        foot_left=f"Report {facts.report_id}",
        generated_at=facts.generated_at,
    )


def _bound(facts: ReportFacts) -> Binder:
    binder = Binder()
    _add_face(binder, facts)
    _add_standing(binder, facts)
    _add_found(binder, facts)
    _add_cured(binder, facts.cured)
    _add_readings(binder, facts)
    if facts.exhibits:
        binder.heading("Photos and files", room_pt=300)
        add_photos(binder, facts.exhibits)
    binder.note(_CARE_SENTENCE)
    binder.note(LAW_SENTENCE)
    binder.add_long_entries()
    return binder


def _add_face(binder: Binder, facts: ReportFacts) -> None:
    visit, coach = facts.visit, facts.coach
    binder.remark(Strong(facts.company.name), style.COMPANY)
    binder.remark(" · ".join(facts.company.address_lines), style.NOTE)
    binder.body("Inspection report", style.TITLE)
    kind = wording.readable(visit.kind)
    binder.remark(
        f"{kind[:1].upper()}{kind[1:]} of coach {coach.unit_no}, roof {facts.roof_no},"
        f" {wording.on(visit.happened_on)}",
        style.SUBTITLE,
    )
    year = f"{coach.year} " if coach.year is not None else ""
    binder.facts(
        (
            ("Visit", visit.ref),
            ("Result", Strong(wording.readable(visit.result))),
            ("Technician", visit.technician or wording.NOT_RECORDED),
            (
                "Recorded",
                f"{visit.recorded_by}, {wording.at(visit.recorded_at)}",
            ),
            ("Coach", f"{year}{coach.make} {coach.model}".strip()),
            ("VIN", coach.vin or wording.NOT_RECORDED),
            ("Roof system", facts.system or "nothing laid yet"),
            ("Remarks", facts.note or "none"),
        )
    )


def _add_standing(binder: Binder, facts: ReportFacts) -> None:
    binder.heading("What the promise is worth", room_pt=120)
    standing = facts.standing
    if standing is None:
        binder.body("Nothing was promised on this roof on the day of the visit.")
        return
    binder.facts(
        (
            (
                "Standing",
                (
                    Strong(wording.standing_word(standing.word)),
                    f", as of {wording.on(standing.as_of)}",
                ),
            ),
            ("Why", standing.because),
            ("Next inspection due", wording.next_due(standing)),
            ("Known at", wording.at(standing.known_at)),
        )
    )
    cures = [(c.number, c.title, c.cure) for c in standing.clauses if c.cure]
    if cures:
        binder.subheading("What would put it right")
        columns = (
            Column(title="clause", share=0.1),
            Column(title="what it asks", share=0.3),
            Column(title="what would cure it", share=0.6),
        )
        binder.table(columns, cures)


def _add_found(binder: Binder, facts: ReportFacts) -> None:
    binder.heading("What was found", room_pt=330)
    placed = findings_placed((facts.visit,), facts.penetrations)
    if facts.penetrations or placed:
        binder.together(
            roof_plan_drawing(
                length_m=facts.coach.length_m,
                width_m=facts.coach.width_m,
                width_pt=style.TEXT_WIDTH,
                penetrations=facts.penetrations,
                pennants=pennants_of(placed),
            )
        )
    if facts.penetrations:
        listed = "; ".join(
            f"{number} {each.label}"
            for number, each in enumerate(facts.penetrations, start=1)
        )
        binder.remark(
            f"Penetrations: {listed}. A filled pennant is an open finding, a hollow one"
            " was cured.",
            style.NOTE,
        )
    add_findings(binder, placed)


def _add_cured(binder: Binder, cured: tuple[CuredFacts, ...]) -> None:
    binder.heading("What was cured", room_pt=90)
    if not cured:
        binder.body("This visit cured no earlier finding.")
        return
    columns = (
        Column(title="found", share=0.2),
        Column(title="severity", share=0.15),
        Column(title="where", share=0.25),
        Column(title="what had been found", share=0.4),
    )
    binder.table(columns, (_cured_row(each) for each in cured))


def _cured_row(cured: CuredFacts) -> tuple[Words, ...]:
    finding = cured.finding
    return (
        f"{wording.short_on(cured.found_on)}\n{cured.visit_ref}",
        wording.readable(finding.severity),
        wording.place(finding.place_label, finding.x_m, finding.y_m),
        finding.text or "no words recorded",
    )


def _add_readings(binder: Binder, facts: ReportFacts) -> None:
    binder.heading("Readings of that day", room_pt=260)
    if not (facts.film or facts.climate or facts.reads):
        binder.body("No readings are recorded for that day.")
    if facts.film:
        binder.subheading("Film")
        binder.table(_FILM_COLUMNS, (_film_row(each) for each in facts.film))
    if facts.climate:
        binder.subheading("Climate")
        binder.table(CLIMATE_COLUMNS, (climate_row(c, None) for c in facts.climate))
    if facts.reads:
        binder.subheading("Deck and adhesion")
        rows = ((r.what, r.value, r.place or "—") for r in facts.reads)
        binder.table(_READ_COLUMNS, rows)


_FILM_COLUMNS = (
    Column(title="coat", share=0.25),
    Column(title="readings", share=0.15, is_number=True),
    Column(title="mean", share=0.3),
    Column(title="lowest", share=0.3),
)
_READ_COLUMNS = (
    Column(title="what", share=0.4),
    Column(title="read", share=0.3),
    Column(title="where", share=0.3),
)


def _film_row(read: FilmReadFacts) -> tuple[Words, ...]:
    how = " (estimated from wet film)" if read.is_estimated else ""
    return (
        wording.readable(read.coat) + how,
        str(read.count),
        wording.mil_and_um(read.mean_mil),
        wording.mil_and_um(read.lowest_mil),
    )
