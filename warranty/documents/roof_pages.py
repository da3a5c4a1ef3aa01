"""The roof: coach and build, the plan with its film map, the film, the weather."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from reportlab.graphics.shapes import Drawing
from reportlab.platypus import CondPageBreak, KeepTogether

from warranty.documents import style, wording
from warranty.documents.binder import Binder, Column
from warranty.documents.facts import (
    ClimateFacts,
    CoatLotFacts,
    FilmCoatFacts,
    FilmMapFacts,
    PacketFacts,
    PenetrationFacts,
    SpotFacts,
)
from warranty.documents.finding_pages import (
    PlacedFinding,
    add_findings,
    findings_placed,
    pennants_of,
)
from warranty.documents.opening_pages import margin_words
from warranty.documents.plan_drawing import is_on_plan, roof_plan_drawing
from warranty.documents.text import P, Strong, Words

_SPOTS_A_ROW = 5  # SSPC-PA 2: five spots an area
BORROWED_RULE_SENTENCE = (
    "SSPC-PA 2 is a rule for coatings on metal, borrowed here: no published rule for"
    " the film on a coach roof was found."
)


def add_roof(binder: Binder, facts: PacketFacts) -> None:
    """Add coach, holder, roof and lots."""
    coach, holder, roof = facts.coach, facts.holder, facts.roof
    until = "no end recorded"
    if holder.held_until_on is not None:
        until = f"until {wording.on(holder.held_until_on)}"
    held = f"from {wording.on(holder.held_from_on)}, {until}"
    year = str(coach.year) if coach.year is not None else "year not recorded"
    binder.heading("Coach, holder and roof", room_pt=260)
    binder.facts(
        (
            ("Coach no.", coach.unit_no),
            ("VIN", coach.vin or wording.NOT_RECORDED),
            ("Coach", f"{year} {coach.make} {coach.model}, {coach.body}"),
            ("Length", wording.m_and_ft(coach.length_m)),
            ("Width", wording.m_and_ft(coach.width_m)),
            ("Holder on the day of loss", f"{holder.name} ({holder.kind})"),
            ("Held", held if holder.held_from_on else wording.NOT_RECORDED),
            ("Roof no.", roof.roof_no),
            ("System", (Strong(roof.system_code), f"  {roof.system_title}")),
            ("Substrate", wording.readable(roof.substrate)),
            ("Started", wording.on(roof.started_on)),
            ("Completed", wording.on(roof.completed_on)),
            ("Installed by", roof.installed_by or wording.NOT_RECORDED),
        )
    )
    binder.subheading("Lots and volumes")
    if not roof.coats:
        binder.body("No lots are recorded.")
        return
    binder.table(_LOT_COLUMNS, (_lot_row(coat) for coat in roof.coats))
    binder.note(
        "Film by volume is what the volume used explains over the roof's area; a gap of"
        " more than the limit of the mass balance is a question: either the pails or"
        " the gauge is wrong."
    )


_LOT_COLUMNS = (
    Column(title="coat", share=0.12),
    Column(title="lot", share=0.16),
    Column(title="volume used", share=0.22),
    Column(title="film by volume", share=0.18),
    Column(title="film by gauge", share=0.18),
    Column(title="gap", share=0.14),
)


def _lot_row(coat: CoatLotFacts) -> tuple[Words, ...]:
    gap: Words = "—"
    if coat.gap_ratio is not None:
        percent = f"{coat.gap_ratio * 100:.0f} %"
        gap = Strong(f"{percent}, a doubt") if coat.is_doubt else percent
    return (
        wording.readable(coat.coat),
        coat.lot or wording.NOT_RECORDED,
        wording.litres_and_gal(coat.volume_l),
        wording.mil_and_um(coat.film_from_volume_mil, missing="—"),
        wording.mil_and_um(coat.film_from_gauge_mil, missing="—"),
        gap,
    )


def place_of_loss_m(facts: PacketFacts) -> tuple[float, float] | None:
    """Return where the loss is on the plan: as recorded, else at its penetration."""
    claim = facts.claim
    if claim.place_x_m is not None and claim.place_y_m is not None:
        return claim.place_x_m, claim.place_y_m
    for penetration in facts.penetrations:
        if claim.place_label and penetration.label == claim.place_label:
            return penetration.x_m, penetration.y_m
    return None


def add_plan(binder: Binder, facts: PacketFacts) -> None:
    """Add the roof plan, a film map for each coat that has one, the penetrations."""
    binder.heading("Roof plan and film map", room_pt=360)
    place = place_of_loss_m(facts)
    ring = " The ring marks the place of loss." if place else ""
    binder.body(
        "Drawn to scale, seen from above. Numbers are penetrations, listed below; a"
        " dashed outline was not detailed. Letters are findings: a filled pennant is"
        f" open, a hollow one was cured.{ring}"
    )
    for film_map in facts.film_maps:
        _add_map(binder, facts, film_map)
    if not facts.film_maps:
        binder.together(_plan(facts, None))
        binder.body("Positions of the readings not recorded; no map drawn.")
    _add_penetrations(binder, facts)
    add_findings(binder, placed_findings(facts))


def placed_findings(facts: PacketFacts) -> tuple[PlacedFinding, ...]:
    """Return every finding of the roof's visits with its letter and its place."""
    return findings_placed(facts.visits, facts.penetrations)


def _plan(facts: PacketFacts, film_map: FilmMapFacts | None) -> Drawing:
    return roof_plan_drawing(
        length_m=facts.coach.length_m,
        width_m=facts.coach.width_m,
        width_pt=style.TEXT_WIDTH,
        penetrations=facts.penetrations,
        film_map=film_map,
        readings=facts.readings,
        place_m=place_of_loss_m(facts),
        pennants=pennants_of(placed_findings(facts)),
    )


def _add_map(binder: Binder, facts: PacketFacts, film_map: FilmMapFacts) -> None:
    title = f"{wording.coat_named(film_map.coat)}: dry film"
    error = (
        "leave-one-out error of the map"
        f" {wording.mil_and_um(film_map.loo_rmse_mil, missing='not known')}"
    )
    words = (
        f"Dots are readings; hatched cells are farther than the map reaches from any"
        f" reading and count as not measured; a dash marks cells under the lower"
        f" limit. Cells of {film_map.cell_m:.2f} m between readings are interpolated:"
        f" {error}. The map shows where to look; acceptance never uses it."
    )
    binder.story.append(
        KeepTogether(
            [
                P(title, style.SUBHEADING),
                _plan(facts, film_map),
                P(words, style.MAP_NOTE),
                binder.cell(film_map.positions_note, style.NOTE),
            ]
        )
    )


def _add_penetrations(binder: Binder, facts: PacketFacts) -> None:
    binder.subheading("Penetrations")
    if not facts.penetrations:
        binder.body("No penetrations are recorded.")
        return
    columns = (
        Column(title="no.", share=0.06),
        Column(title="penetration", share=0.28),
        Column(title="kind", share=0.22),
        Column(title="x, y of its centre", share=0.18),
        Column(title="length by width", share=0.16),
        Column(title="detailed", share=0.1),
    )
    rows = enumerate(facts.penetrations, start=1)
    binder.table(columns, (_penetration_row(n, p, facts) for n, p in rows))


def _penetration_row(
    order: int, penetration: PenetrationFacts, facts: PacketFacts
) -> tuple[Words, ...]:
    is_drawn = is_on_plan(
        penetration.x_m,
        penetration.y_m,
        length_m=facts.coach.length_m,
        width_m=facts.coach.width_m,
    )
    position = f"{penetration.x_m:.2f} m, {penetration.y_m:.2f} m"
    detailed: dict[bool | None, Words]
    detailed = {True: "yes", False: Strong("no"), None: wording.NOT_RECORDED}
    return (
        str(order),
        penetration.label,
        wording.readable(penetration.kind),
        position if is_drawn else f"{position}; outside the outline, not drawn",
        f"{penetration.length_m:.2f} by {penetration.width_m:.2f} m",
        detailed[penetration.detailed],
    )


def add_film(binder: Binder, facts: PacketFacts) -> None:
    """Add the acceptance of each coat, with every spot and the limits used."""
    binder.heading("Film thickness", room_pt=330)
    binder.body(BORROWED_RULE_SENTENCE)
    if not facts.film:
        binder.body("No film readings are recorded.")
    for coat in facts.film:
        _add_coat(binder, coat)


def _add_coat(binder: Binder, coat: FilmCoatFacts) -> None:
    kind = "estimated dry film" if coat.is_estimated else "measured dry film"
    binder.story.append(CondPageBreak(230))
    binder.subheading(f"{wording.coat_named(coat.coat)}: {kind}")
    lowest = wording.mil_and_um(coat.lowest_spot_mil)
    if coat.lowest_spot_mil is not None:
        limit = wording.mil_and_um(coat.spot_min_mil, missing="none")
        lowest = f"{coat.lowest_spot_label}: {lowest}; lower spot limit {limit}"
    spread = (
        f", standard deviation {wording.mil_and_um(coat.spread_mil)}"
        if coat.spread_mil is not None
        else ""
    )
    how = " (estimated from wet film)" if coat.is_estimated else ""
    bound = wording.mil_and_um(coat.tolerance_bound_mil, missing="too few readings")
    binder.facts(
        (
            (
                "Result",
                (Strong(wording.verdict_word(coat.verdict)), f". {coat.because}"),
            ),
            ("Rule", coat.rule),
            ("Read with", coat.method + how),
            ("Dry limits of the system", _limits(coat.dry_min_mil, coat.dry_max_mil)),
            ("Limits of a spot mean", _limits(coat.spot_min_mil, coat.spot_max_mil)),
            ("Areas needed", str(coat.areas_needed)),
            ("Lowest spot", lowest),
            ("Mean of all readings", wording.mil_and_um(coat.mean_mil) + spread),
            ("One-sided 95/95 tolerance bound", bound),
        )
    )
    binder.table(_FILM_COLUMNS, _area_rows(coat))


def _limits(low_mil: float | None, high_mil: float | None) -> str:
    if low_mil is None and high_mil is None:
        return "none"
    low = wording.mil_and_um(low_mil, missing="no lower limit")
    return f"{low} to {wording.mil_and_um(high_mil, missing='no upper limit')}"


_FILM_COLUMNS = (
    Column(title="area", share=0.09),
    *(Column(title=f"spot mean {n}", share=0.145) for n in range(1, _SPOTS_A_ROW + 1)),
    Column(title="area mean", share=0.11),
    Column(title="area result", share=0.115),
)


def _area_rows(coat: FilmCoatFacts) -> Iterator[tuple[Words, ...]]:
    areas = {area.area: area for area in coat.areas}
    for name, spots in groupby(coat.spots, key=lambda spot: spot.area):
        listed = list(spots)
        for start in range(0, len(listed), _SPOTS_A_ROW):
            row = listed[start : start + _SPOTS_A_ROW]
            cells = [_spot_words(spot) for spot in row]
            cells += [""] * (_SPOTS_A_ROW - len(row))
            area = areas.get(name) if start == 0 else None
            mean: Words = ""
            result: Words = ""
            if area is not None:
                mean = _two_units(area.mean_mil)
                result = wording.verdict_word(area.verdict)
                if area.verdict != "MET":
                    result = Strong(result)
            yield (name if start == 0 else "", *cells, mean, result)


def _two_units(mil: float | None) -> str:
    if mil is None:
        return "—"
    return f"{mil:.1f} mil\n{mil * wording.UM_PER_MIL:.0f} µm"


def _spot_words(spot: SpotFacts) -> Words:
    counted = f"\nspot {spot.spot}, n = {spot.reading_count}"
    if spot.verdict == "MET":
        return _two_units(spot.mean_mil) + counted
    return (
        Strong(_two_units(spot.mean_mil)),
        f"{counted}\n",
        Strong(wording.verdict_word(spot.verdict)),
    )


def add_climate(binder: Binder, facts: PacketFacts) -> None:
    """Add the climate readings; the smallest margin stands out."""
    binder.heading("Climate during the application")
    limits = facts.climate_limits
    if limits is not None:
        low, high = wording.number(limits.air_min_c), wording.number(limits.air_max_c)
        binder.body(
            f"Limits of the system: air {low} to {high} °C; relative humidity at most"
            f" {wording.number(limits.rh_max_pct, 0)} %; surface at least"
            f" {wording.number(limits.dew_margin_c)} °C over the dew point."
        )
    binder.remark(Strong(margin_words(facts)))
    if not facts.climate:
        return
    margins = [c.margin_c for c in facts.climate if c.margin_c is not None]
    smallest = min(margins, default=None)
    binder.table(CLIMATE_COLUMNS, (climate_row(c, smallest) for c in facts.climate))


CLIMATE_COLUMNS = (
    Column(title="taken at", share=0.25),
    Column(title="result", share=0.13),
    Column(title="air °C (°F)", share=0.13, is_number=True),
    Column(title="surface °C (°F)", share=0.13, is_number=True),
    Column(title="humidity %", share=0.1, is_number=True),
    Column(title="dew point °C (°F)", share=0.13, is_number=True),
    Column(title="margin °C", share=0.1, is_number=True),
)


def _both_c_f(temp_c: float | None) -> str:
    if temp_c is None:
        return "—"
    return f"{wording.number(temp_c)} ({wording.number(temp_c * 1.8 + 32)})"


def climate_row(reading: ClimateFacts, smallest_c: float | None) -> tuple[Words, ...]:
    """Return one row of the climate table; the smallest margin is set in bold."""
    margin = wording.number(reading.margin_c)
    is_smallest = reading.margin_c is not None and reading.margin_c == smallest_c
    verdict = wording.verdict_word(reading.verdict)
    return (
        reading.taken_at,
        verdict if reading.verdict == "MET" else Strong(verdict),
        _both_c_f(reading.air_c),
        _both_c_f(reading.surface_c),
        wording.number(reading.rh_pct, 0),
        _both_c_f(reading.dew_point_c),
        Strong(margin) if is_smallest else margin,
    )
