"""Builders of packet facts: Harrow Lake, an invented company with invented coaches."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from hashlib import sha256
from io import BytesIO
from math import hypot

from PIL import Image, ImageDraw

from warranty.documents.claim_facts import (
    DecisionFacts,
    DoubtFacts,
    MoveFacts,
    ReasonFacts,
    RemedyFacts,
)
from warranty.documents.facts import (
    AreaFacts,
    ClaimFacts,
    ClauseFacts,
    ClimateFacts,
    ClimateLimitFacts,
    CoachFacts,
    CoatLotFacts,
    CompanyFacts,
    DueDateFacts,
    EditionFacts,
    ExhibitFacts,
    FilmCoatFacts,
    FilmMapFacts,
    FindingFacts,
    HolderFacts,
    LastInspectionFacts,
    LedgerEntryFacts,
    LedgerFacts,
    PacketFacts,
    PenetrationFacts,
    PictureFacts,
    ReadingFacts,
    RoofFacts,
    SpotFacts,
    StandingFacts,
    StandingSegmentFacts,
    VisitFacts,
)

LENGTH_M, WIDTH_M = 10.06, 2.44
LOSS_ON = date(2026, 4, 8)
CENTRAL = timezone(timedelta(hours=-5))


def digest(words: str) -> str:
    """Return a SHA-256 that looks like the ledger's."""
    return sha256(words.encode()).hexdigest()


def make_penetrations() -> tuple[PenetrationFacts, ...]:
    rows = (
        ("front cap seam", "cap seam", 0.08, 1.22, 2.40, 0.10, True),
        ("vent 1", "vent", 1.55, 1.22, 0.36, 0.36, True),
        ("antenna", "antenna", 2.45, 0.60, 0.20, 0.20, True),
        ("air conditioner", "air conditioner", 3.80, 1.22, 0.70, 0.90, True),
        ("skylight", "skylight", 5.40, 1.75, 0.40, 0.60, True),
        ("sewer vent", "sewer vent", 6.30, 0.45, 0.10, 0.10, True),
        ("refrigerator vent", "refrigerator vent", 7.20, 2.05, 0.30, 0.55, True),
        ("vent 2", "vent", 8.40, 1.22, 0.36, 0.36, True),
        ("ladder foot", "ladder foot", 9.85, 0.55, 0.12, 0.08, False),
    )
    return tuple(
        PenetrationFacts(
            label=label,
            kind=kind,
            x_m=x,
            y_m=y,
            width_m=width,
            length_m=length,
            detailed=detailed,
        )
        for label, kind, x, y, width, length, detailed in rows
    )


def make_readings(coat: str, *, spots: int = 15) -> tuple[ReadingFacts, ...]:
    """Three readings a spot, five spots an area, thinner toward the rear."""
    readings = []
    for spot in range(spots):
        x = 0.6 + spot * (LENGTH_M - 3.1) / max(spots - 1, 1)
        y = 0.45 + 1.55 * ((spot * 2) % 5) / 4
        for shot in range(3):
            dry = 15.6 - 0.32 * x + 0.5 * ((spot * 3 + shot) % 4 - 1.5)
            readings.append(
                ReadingFacts(
                    coat=coat,
                    area=str(spot // 5 + 1),
                    spot=str(spot % 5 + 1),
                    dry_mil=dry,
                    x_m=x + 0.04 * shot,
                    y_m=y + 0.04 * shot,
                )
            )
    return tuple(readings)


def make_film_map(readings: tuple[ReadingFacts, ...]) -> FilmMapFacts:
    """A plain inverse-distance map, for a drawing to have something to draw."""
    cell, nx, ny = 0.25, 41, 10
    values, measured = [], []
    for iy in range(ny):
        for ix in range(nx):
            x, y = (ix + 0.5) * cell, (iy + 0.5) * cell
            far = [hypot(r.x_m - x, r.y_m - y) for r in readings]
            weights = [1 / max(d, 1e-6) ** 2 for d in far]
            total = sum(w * r.dry_mil for w, r in zip(weights, readings, strict=True))
            values.append(total / sum(weights))
            measured.append(min(far) <= 1.5)
    return FilmMapFacts(
        coat=readings[0].coat,
        cell_m=cell,
        nx=nx,
        ny=ny,
        values_mil=tuple(values),
        measured=tuple(measured),
        loo_rmse_mil=0.62,
        low_mil=12.5,
        high_mil=18.0,
        positions_note="Positions were paced off by the crew, not surveyed.",
    )


def make_film_coat(readings: tuple[ReadingFacts, ...]) -> FilmCoatFacts:
    by_spot: dict[tuple[str, str], list[float]] = {}
    for reading in readings:
        by_spot.setdefault((reading.area, reading.spot), []).append(reading.dry_mil)
    spots = tuple(
        SpotFacts(
            area=area,
            spot=spot,
            mean_mil=sum(values) / len(values),
            reading_count=len(values),
            verdict="MET" if sum(values) / len(values) >= 10 else "NOT_MET",
        )
        for (area, spot), values in by_spot.items()
    )
    areas = []
    for name in dict.fromkeys(spot.area for spot in spots):
        means = [spot.mean_mil for spot in spots if spot.area == name]
        mean = sum(means) / len(means)
        areas.append(
            AreaFacts(
                area=name,
                mean_mil=mean,
                spot_count=len(means),
                verdict="MET" if mean >= 12.5 else "NOT_MET",
            )
        )
    lowest = min(spots, key=lambda spot: spot.mean_mil)
    return FilmCoatFacts(
        coat=readings[0].coat,
        rule="SSPC-PA 2, restriction level 3",
        method="notch gauge, lower bound (last wetted tooth)",
        is_estimated=True,
        dry_min_mil=12.5,
        dry_max_mil=18.0,
        spot_min_mil=10.0,
        spot_max_mil=21.6,
        areas_needed=3,
        spots=spots,
        areas=tuple(areas),
        verdict="MET",
        because="All areas and spots lie within the limits.",
        lowest_spot_label=f"area {lowest.area}, spot {lowest.spot}",
        lowest_spot_mil=lowest.mean_mil,
        mean_mil=14.2,
        spread_mil=1.1,
        tolerance_bound_mil=11.8,
    )


def make_clauses() -> tuple[ClauseFacts, ...]:
    rows = (
        ("3.1", "film", "Film accepted", "MET", "Both coats lie within their limits."),
        ("3.2", "substrate", "Substrate listed", "MET", "EPDM is on the list."),
        (
            "3.3",
            "penetrations",
            "Every penetration detailed",
            "MET",
            (
                "Nine penetrations are recorded; eight are detailed, and the office"
                " waived the ladder foot on 2 July 2022."
            ),
        ),
        ("3.4", "climate", "Climate within limits", "MET", "All readings are inside."),
        (
            "4.1",
            "registered",
            "Registered in time",
            "MET",
            "Registered on 1 July 2022.",
        ),
        (
            "4.2",
            "inspections",
            "Inspections current",
            "NOT_MET",
            "Due 16 June 2025; no passing inspection by 15 August 2025.",
        ),
        ("4.3", "serious_findings", "Serious findings cured", "MET", "None is open."),
        ("5.1", "holder", "Holder eligible", "MET", "The holder is a private person."),
        ("5.2", "coach", "Coach alive", "MET", "The coach is not retired."),
        ("5.3", "term", "Term not over", "MET", "The term is the coach's life."),
    )
    return tuple(
        ClauseFacts(
            number=number,
            code=code,
            title=title,
            verdict=verdict,
            because=because,
            cure="Reinstatement by 11 February 2026." if verdict == "NOT_MET" else "",
            evidence=("V00087", "V00112") if code == "inspections" else ("R-0412",),
            is_waived=code == "penetrations",
            holds_until=date(2026, 6, 16) if code == "inspections" else None,
        )
        for number, code, title, verdict, because in rows
    )


def make_visits(count: int = 7) -> tuple[VisitFacts, ...]:
    base = (
        ("inspection", date(2023, 6, 6), "T. Yarrow", "pass"),
        ("inspection", date(2024, 6, 20), "C. Uyeda", "pass"),
        ("leak call", date(2024, 11, 3), "C. Uyeda", "fail"),
        ("repair", date(2024, 11, 10), "T. Yarrow", "pass"),
    )
    visits = []
    for order in range(count):
        kind, day, technician, result = base[order % len(base)]
        findings: tuple[FindingFacts, ...] = ()
        if kind == "leak call":
            findings = (
                FindingFacts(
                    severity="SERIOUS",
                    text="flashing open at the aft corner, 30 mm",
                    place_label="skylight",
                    x_m=5.7,
                    y_m=1.95,
                    cured_by="V00104",
                    cured_on=date(2024, 11, 10),
                ),
                FindingFacts(severity="NOTE", text="chalk along the left gutter"),
            )
        visits.append(
            VisitFacts(
                ref=f"V{87 + order:05d}",
                kind=kind,
                happened_on=day,
                technician=technician,
                result=result,
                recorded_by=technician,
                recorded_at=datetime(
                    day.year, day.month, day.day, 16, 42, tzinfo=CENTRAL
                ),
                findings=findings,
                cures=("V00089",) if kind == "repair" else (),
            )
        )
    return tuple(visits)


def make_climate() -> tuple[ClimateFacts, ...]:
    rows = (
        ("2022-06-15 08:24 -05:00", 14.4, 12.9, 65.0, 7.9, 5.0, "MET"),
        ("2022-06-15 12:10 -05:00", 19.8, 24.6, 52.0, 9.7, 14.9, "MET"),
        ("2022-06-16 07:55 -05:00", 13.1, 12.4, 78.0, 9.3, 3.1, "MET"),
        ("2022-06-16 13:02 -05:00", 21.5, 27.9, None, None, None, "UNKNOWN"),
    )
    return tuple(
        ClimateFacts(
            taken_at=taken_at,
            air_c=air,
            surface_c=surface,
            rh_pct=humidity,
            dew_point_c=dew,
            margin_c=margin,
            verdict=verdict,
        )
        for taken_at, air, surface, humidity, dew, margin, verdict in rows
    )


def make_ledger(count: int = 24) -> LedgerFacts:
    kinds = ("SURVEY_RECORDED", "FILM_READINGS_RECORDED", "VISIT_RECORDED", "EXHIBIT")
    start = datetime(2022, 6, 14, 18, 0, tzinfo=UTC)
    entries = tuple(
        LedgerEntryFacts(
            seq=seq,
            kind=kinds[seq % len(kinds)],
            recorded_at=start + timedelta(days=31 * (seq - 1)),
            by="M. Castellane",
            payload_hash=digest(f"payload {seq}"),
            entry_hash=digest(f"entry {seq}"),
        )
        for seq in range(1, count + 1)
    )
    return LedgerFacts(
        head_seq=count,
        head_hash=digest(f"entry {count}"),
        entries=entries,
        check="Recomputing the chain on 9 April 2026 found it whole.",
    )


def make_due_dates() -> tuple[DueDateFacts, ...]:
    kept = {2023: (date(2023, 6, 6), "V00087"), 2024: (date(2024, 6, 20), "V00088")}
    rows = []
    for year in range(2023, 2027):
        due = date(year, 6, 16)
        on, by = kept.get(year, (None, ""))
        rows.append(
            DueDateFacts(
                due_on=due,
                window_opens_on=due - timedelta(days=60),
                grace_ends_on=due + timedelta(days=60),
                satisfied_on=on,
                satisfied_by=by,
                is_missed=year == 2025,
            )
        )
    return tuple(rows)


def make_timeline() -> tuple[StandingSegmentFacts, ...]:
    rows = (
        ("PENDING", date(2022, 6, 16), date(2022, 6, 30)),
        ("IN_FORCE", date(2022, 7, 1), date(2024, 6, 16)),
        ("AT_RISK", date(2024, 6, 17), date(2024, 6, 19)),
        ("IN_FORCE", date(2024, 6, 20), date(2025, 6, 16)),
        ("AT_RISK", date(2025, 6, 17), date(2025, 8, 15)),
        ("SUSPENDED", date(2025, 8, 16), date(2026, 6, 30)),
    )
    return tuple(
        StandingSegmentFacts(word=word, from_on=start, until_on=end)
        for word, start, end in rows
    )


def make_picture(width_px: int = 320, height_px: int = 240) -> PictureFacts:
    """Return a small JPEG of a striped roof, as the runner would have made it."""
    picture = Image.new("RGB", (width_px, height_px), (196, 200, 204))
    drawn = ImageDraw.Draw(picture)
    for x in range(0, width_px, 40):
        drawn.line((x, 0, x, height_px), fill=(120, 124, 128), width=3)
    drawn.ellipse((width_px // 3, height_px // 3, width_px // 2, height_px // 2))
    file = BytesIO()
    picture.save(file, "JPEG", quality=80)
    return PictureFacts(content=file.getvalue(), width_px=width_px, height_px=height_px)


def make_exhibits() -> tuple[ExhibitFacts, ...]:
    return (
        ExhibitFacts(
            number="E1",
            sha256=digest("photo of the skylight"),
            caption="Skylight, aft corner, before the temporary seal",
            captured_at="2026-04-23 09:14 -05:00",
            device_at="2026-04-23 09:30 -05:00",
            received_at=datetime(2026, 4, 23, 9, 31, tzinfo=CENTRAL),
            visit_ref="V00113",
            place_label="skylight",
            clock_doubts=("the camera's clock and the device's differ by 16 minutes",),
            no_picture="its bytes are not in the store any more",
        ),
    )


def make_shown_exhibits(count: int = 5) -> tuple[ExhibitFacts, ...]:
    """Return exhibits with pictures: the second shows the first's place afterwards."""
    first = make_exhibits()[0]
    return tuple(
        replace(
            first,
            number=f"E{order}",
            sha256=digest(f"photo {order}"),
            caption=f"Photo {order} of the skylight's aft corner",
            clock_doubts=(),
            after_of="E1" if order == 2 else "",
            picture=make_picture(*((240, 320) if order == 2 else (320, 240))),
            no_picture="",
        )
        for order in range(1, count + 1)
    )


def make_decision(**over: object) -> DecisionFacts:
    """Return a claim approved in part, one remedy done."""
    values: dict[str, object] = {
        "round_no": 1,
        "outcome": "IN_PART",
        "cause": "detail",
        "approved_cents": 52_000,
        "paid_cents": 31_050,
        "currency": "USD",
        "noticed_on": LOSS_ON,
        "standing": "AT_RISK",
        "edition_code": "LIFE-2021",
        "rule_version": "2",
        "results_sha256": digest("results"),
        "known_at": datetime(2026, 4, 24, 9, 0, tzinfo=CENTRAL),
        "decided_at": datetime(2026, 4, 24, 9, 0, tzinfo=CENTRAL),
        "decided_by": "R. Oduya",
        "seconded_by": "M. Castellan",
        "reasons": (
            ReasonFacts(
                number="9",
                title="Inspections current",
                verdict="NOT_MET",
                because="The inspection due on 16 June 2025 was not passed.",
                reason="We pay for the sealing; the interior stood open a year.",
                evidence=("visit V00088",),
            ),
        ),
        "remedies": (
            RemedyFacts(
                done_on=date(2026, 4, 30),
                part_cents=4_050,
                labour_cents=27_000,
                interior_cents=0,
                total_cents=31_050,
                visit_ref="V00120",
                note="Skylight flange sealed anew",
                recorded_by="R. Oduya",
            ),
        ),
    }
    return DecisionFacts(**{**values, **over})  # type: ignore[arg-type]  # fields


def make_doubts() -> tuple[DoubtFacts, ...]:
    return (
        DoubtFacts(
            question="The litres opened explain half of the film that was read. Why?",
            records=("lot F329",),
            answer="ANSWERED",
            why="A second pail was opened and not written down.",
            answered_by="R. Oduya",
            answered_at=datetime(2026, 4, 23, 15, 0, tzinfo=CENTRAL),
        ),
        DoubtFacts(question="Fifteen wet readings are equal. Was every one read?"),
    )


def make_moves() -> tuple[MoveFacts, ...]:
    return (
        MoveFacts(
            happened_on=date(2026, 4, 24),
            source="REPORTED",
            target="DECIDED",
            by="R. Oduya",
            recorded_at=datetime(2026, 4, 24, 9, 0, tzinfo=CENTRAL),
            why="",
        ),
    )


def make_short_packet_facts(**over: object) -> PacketFacts:
    """Return a packet's facts with every kind of record, and few of each."""
    readings = make_readings("base", spots=3)
    values: dict[str, object] = {
        "penetrations": make_penetrations()[:2],
        "readings": (),
        "film": (make_film_coat(readings),),
        "film_maps": (),
        "climate": make_climate()[:2],
        "visits": make_visits(4)[2:],
        "ledger": make_ledger(2),
    }
    return make_packet_facts(**{**values, **over})


def make_packet_facts(**over: object) -> PacketFacts:
    """Return a whole packet's facts; any field can be given instead."""
    base, finish = make_readings("base"), make_readings("finish")
    values: dict[str, object] = {
        "packet_id": "PK-2026-0007-1",
        "generated_for": "Silvan Marsh, and whoever he shows it to",
        "generated_at": datetime(2026, 4, 24, 10, 5, tzinfo=CENTRAL),
        "company": CompanyFacts(
            name="Harrow Lake Coach Roofs",
            address_lines=("18 Slipway Road", "Gull Prairie, WI"),
            phone="555-0142",
            email="office@harrowlake.example",
        ),
        "claim": ClaimFacts(
            reference="C0001",
            noticed_on=LOSS_ON,
            reported_on=date(2026, 4, 23),
            description="Stain on the bedroom ceiling, damp after rain.",
            estimate_cents=78_000,
            currency="USD",
            status="OPEN",
            done_at_once="Coach moved under cover the same evening.",
            place_label="skylight",
        ),
        "coach": CoachFacts(
            unit_no="HL-0007",
            vin="1Z9AR5056VAR01007",
            year=1997,
            make="Larkmere",
            model="Packet 33",
            body="travel trailer",
            length_m=LENGTH_M,
            width_m=WIDTH_M,
        ),
        "holder": HolderFacts(
            name="Silvan Marsh",
            kind="private person",
            held_from_on=date(2022, 6, 16),
        ),
        "roof": RoofFacts(
            roof_no="HL-0007-1",
            system_code="MEMBRANE-2",
            system_title="Two-coat build over rubber or thermoplastic membrane",
            substrate="EPDM",
            started_on=date(2022, 6, 15),
            completed_on=date(2022, 6, 16),
            installed_by="T. Yarrow and C. Uyeda",
            coats=(
                CoatLotFacts(coat="primer", lot="P107", volume_l=4.6),
                CoatLotFacts(
                    coat="base",
                    lot="B216",
                    volume_l=22.7,
                    film_from_volume_mil=14.5,
                    film_from_gauge_mil=14.2,
                    gap_ratio=0.02,
                ),
                CoatLotFacts(
                    coat="finish",
                    lot="F329",
                    volume_l=18.1,
                    film_from_volume_mil=11.6,
                    film_from_gauge_mil=14.2,
                    gap_ratio=0.18,
                    is_doubt=True,
                ),
            ),
        ),
        "edition": EditionFacts(
            code="LIFE-2021",
            title="Limited warranty for the life of the coach",
            owner_kind="private person",
            anchor="anniversary of completion",
            interval_months=12,
            window_days=60,
            grace_days=60,
            reinstatement_days=180,
            registration_days=30,
            serious_cure_days=30,
            term_months=None,
        ),
        "standing": StandingFacts(
            word="SUSPENDED",
            as_of=LOSS_ON,
            known_at=datetime(2026, 4, 24, 10, 5, tzinfo=CENTRAL),
            because=(
                "The inspection due on 16 June 2025 was not made by 15 August 2025,"
                " the last day of grace, so the promise has been suspended since"
                " 16 August 2025."
            ),
            next_due_on=date(2025, 6, 16),
            holds_until=date(2026, 6, 30),
            rule_version="standing 1",
            clauses=make_clauses(),
        ),
        "ledger": make_ledger(),
        "last_inspection": LastInspectionFacts(
            visit_ref="V00088",
            happened_on=date(2024, 6, 20),
            technician="C. Uyeda",
            result="pass",
            place="skylight",
            found="Hairline in the flashing at the aft corner; note, watch.",
            recorded_by="C. Uyeda",
            recorded_at=datetime(2024, 6, 20, 16, 42, tzinfo=CENTRAL),
        ),
        "timeline": make_timeline(),
        "due_dates": make_due_dates(),
        "penetrations": make_penetrations(),
        "readings": base + finish,
        "film": (make_film_coat(base), make_film_coat(finish)),
        "film_maps": (make_film_map(base), make_film_map(finish)),
        "climate_limits": ClimateLimitFacts(
            air_min_c=10.0, air_max_c=35.0, rh_max_pct=85.0, dew_margin_c=3.0
        ),
        "climate": make_climate(),
        "visits": make_visits(),
        "exhibits": make_exhibits(),
        "decisions": (make_decision(),),
        "moves": make_moves(),
        "doubts": make_doubts(),
    }
    return PacketFacts(**{**values, **over})
