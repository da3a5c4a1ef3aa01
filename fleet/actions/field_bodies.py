"""Make facts from what a phone sent: one operation, one draft."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import UUID

from fleet.actions.errors import InvalidValue
from fleet.actions.field_members import Members
from fleet.actions.readings import (
    adhesion_reading,
    climate_reading,
    coat_log,
    dry_reading,
    moisture_reading,
    notch_reading,
    penetration,
)
from fleet.actions.roofs import installation, text
from fleet.models import (
    AdhesionMethod,
    Answer,
    Check,
    CoatRole,
    Cure,
    Exhibit,
    ExhibitKind,
    FieldPhoto,
    FilmMethod,
    Finding,
    MatchedBy,
    MoistureMode,
    PenetrationKind,
    RoofFact,
    Severity,
    SignerRole,
    Substrate,
    System,
    Technician,
    Visit,
    VisitKind,
    VisitResult,
)

FILM_READINGS_MAX = 500
REF_MAX = 28
NOTE_MAX = 4000
COACH_TOLD_MAX = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """Something that must be here before the operation can be recorded."""

    table: type[RoofFact] | type[FieldPhoto]
    uuid: UUID
    # Which fact names it in which column; nothing when it only has to be here.
    fact: RoofFact | None = None
    column: str = ""
    sha256: str = ""  # of a photo's bytes, as the operation tells it


@dataclass(slots=True, kw_only=True)
class Draft:
    """What one operation would record."""

    kind: str
    roof_uuid: UUID
    visit_uuid: UUID | None
    captured_at: datetime
    technician: Technician | None
    facts: list[RoofFact] = field(default_factory=list)
    named: list[Named] = field(default_factory=list)
    booking_uuid: UUID | None = None
    booking_version: int | None = None
    unknown: list[str] = field(default_factory=list)


def draft_of(given: dict[str, object], *, technician: Technician | None) -> Draft:
    """Return what an operation would record; what it names is not looked up yet.

    Raises:
        InvalidValue: a member is missing or has a value that cannot be recorded.
    """
    top = Members(given)
    draft = Draft(
        kind=top.choice("kind", sorted(KINDS)),
        roof_uuid=top.uuid("roof"),
        visit_uuid=top.optional_uuid("visit"),
        captured_at=top.instant("captured_at"),
        technician=technician,
    )
    top.text("app_version", longest=40, default="")
    KINDS[draft.kind](top.inner("body"), draft)
    _name_visit(draft)
    draft.unknown = top.unknown()
    return draft


def _name_visit(draft: Draft) -> None:
    """Have the facts that belong to a visit name it; the rest only need it here."""
    if draft.kind == "visit":
        return
    if draft.visit_uuid is None:
        if draft.kind in {"check", "cure"}:
            raise InvalidValue("visit", f"A {draft.kind} belongs to a visit: name it.")
        return
    names = [
        Named(table=Visit, uuid=draft.visit_uuid, fact=fact, column="visit")
        for fact in draft.facts
        if any(each.name == "visit" for each in fact._meta.concrete_fields)
    ]
    draft.named[:0] = names or [Named(table=Visit, uuid=draft.visit_uuid)]


def _add(draft: Draft, fact: RoofFact, body: Members) -> None:
    """Add a fact, with the older row that it corrects or strikes."""
    fact.supersedes = body.optional_uuid("supersedes")
    fact.is_void = body.yes("void", otherwise=False)
    if fact.is_void and fact.supersedes is None:
        raise body.refusal("void", "strikes a record: name it in supersedes")
    if fact.supersedes == fact.uuid:
        raise body.refusal("supersedes", "names the record itself")
    if any(fact.uuid == other.uuid for other in draft.facts):
        raise body.refusal("uuid", "stands twice in this operation")
    draft.facts.append(fact)
    if fact.supersedes:
        draft.named.append(Named(table=type(fact), uuid=fact.supersedes))


def _visit(body: Members, draft: Draft) -> None:
    uuid = body.uuid("uuid")
    ref = body.text("ref", shortest=1, longest=REF_MAX)
    draft.booking_uuid = body.optional_uuid("booking")
    draft.booking_version = body.optional_whole("booking_version")
    # How the office finds the roof of a visit that nobody booked; no part of the fact.
    body.text("coach_told", longest=COACH_TOLD_MAX, default="")
    fact = Visit(
        uuid=uuid,
        # Two phones may choose one reference; no two visits share it.
        ref=f"{ref}-{uuid.hex[-8:]}",
        kind=body.choice("visit_kind", VisitKind.values),
        happened_on=body.day("happened_on"),
        result=body.choice("result", VisitResult.values, otherwise=VisitResult.NONE),
        technician=draft.technician,
        note=text(body.text("note", longest=NOTE_MAX, default="")),
    )
    _add(draft, fact, body)


def _climate(body: Members, draft: Draft) -> None:
    fact = climate_reading(
        uuid=body.uuid("uuid"),
        taken_at=body.instant("taken_at"),
        air=body.optional_decimal("air"),
        surface=body.optional_decimal("surface"),
        rh_pct=body.optional_decimal("rh_pct"),
        temperature_unit=body.choice("temperature_unit", ["F", "C"]),
        coat=body.choice("coat", CoatRole.values, otherwise=""),
    )
    _add(draft, fact, body)


def _film(body: Members, draft: Draft) -> None:
    for reading in body.inner_list("readings", most=FILM_READINGS_MAX):
        _add(draft, _film_reading(reading), reading)


def _film_reading(reading: Members) -> RoofFact:
    x_m, y_m = reading.place()
    uuid, unit = reading.uuid("uuid"), reading.text("unit", longest=4)
    coat = reading.choice("coat", CoatRole.values)
    area_no, spot_no = reading.whole("area_no"), reading.whole("spot_no")
    shot_no, happened_on = reading.whole("shot_no"), reading.day("happened_on")
    method = reading.choice("method", FilmMethod.values, otherwise=FilmMethod.NOTCH)
    if method == FilmMethod.NOTCH:
        return notch_reading(
            uuid=uuid,
            coat=coat,
            area_no=area_no,
            spot_no=spot_no,
            shot_no=shot_no,
            last_wet=reading.decimal("last_wet"),
            first_dry=reading.decimal("first_dry"),
            unit=unit,
            happened_on=happened_on,
            x_m=x_m,
            y_m=y_m,
        )
    return dry_reading(
        uuid=uuid,
        coat=coat,
        area_no=area_no,
        spot_no=spot_no,
        shot_no=shot_no,
        method=method,
        value=reading.decimal("value"),
        unit=unit,
        happened_on=happened_on,
        x_m=x_m,
        y_m=y_m,
    )


def _coat_log(body: Members, draft: Draft) -> None:
    thinner = body.optional_decimal("thinner_ratio")
    fact = coat_log(
        uuid=body.uuid("uuid"),
        coat=body.choice("coat", CoatRole.values),
        lot=body.text("lot", longest=40, default=""),
        volume=body.optional_decimal("volume"),
        volume_unit=body.text("volume_unit", longest=4, default="gal"),
        happened_on=body.day("happened_on"),
        **({} if thinner is None else {"thinner_ratio": thinner}),
    )
    _add(draft, fact, body)


def _moisture(body: Members, draft: Draft) -> None:
    x_m, y_m = body.place()
    fact = moisture_reading(
        uuid=body.uuid("uuid"),
        moisture_pct=body.decimal("moisture_pct"),
        mode=body.choice("mode", MoistureMode.values),
        is_above_range=body.yes("is_above_range", otherwise=False),
        species=body.text("species", longest=40, default=""),
        wood_c=body.optional_decimal("wood_c"),
        happened_on=body.day("happened_on"),
        x_m=x_m,
        y_m=y_m,
    )
    _add(draft, fact, body)


def _adhesion(body: Members, draft: Draft) -> None:
    x_m, y_m = body.place()
    fact = adhesion_reading(
        uuid=body.uuid("uuid"),
        method=body.choice("method", AdhesionMethod.values),
        grade=body.optional_whole("grade"),
        value=body.optional_decimal("value"),
        unit=body.text("unit", longest=6, default=""),
        coat=body.choice("coat", CoatRole.values, otherwise=""),
        happened_on=body.day("happened_on"),
        x_m=x_m,
        y_m=y_m,
    )
    _add(draft, fact, body)


def _penetration(body: Members, draft: Draft) -> None:
    fact = penetration(
        uuid=body.uuid("uuid"),
        label=body.text("label", shortest=1, longest=80),
        kind=body.choice("kind", PenetrationKind.values),
        x=body.decimal("x"),
        y=body.decimal("y"),
        place_unit=body.text("place_unit", longest=4),
        width=body.decimal("width"),
        length=body.decimal("length"),
        size_unit=body.text("size_unit", longest=4),
        is_detailed=body.yes("is_detailed"),
        happened_on=body.day("happened_on"),
    )
    _add(draft, fact, body)


def _finding(body: Members, draft: Draft) -> None:
    x_m, y_m = body.place()
    fact = Finding(
        uuid=body.uuid("uuid"),
        severity=body.choice("severity", Severity.values),
        cause=body.text("cause", longest=24, default=""),
        penetration_label=body.text("penetration_label", longest=80, default=""),
        x_m=x_m,
        y_m=y_m,
        note=text(body.text("note", longest=NOTE_MAX, default="")),
        happened_on=body.day("happened_on"),
    )
    _add(draft, fact, body)


def _cure(body: Members, draft: Draft) -> None:
    fact = Cure(uuid=body.uuid("uuid"), happened_on=body.day("happened_on"))
    found = body.uuid("finding")
    _add(draft, fact, body)
    draft.named.append(Named(table=Finding, uuid=found, fact=fact, column="finding"))


def _check(body: Members, draft: Draft) -> None:
    fact = Check(
        uuid=body.uuid("uuid"),
        step=body.text("step", shortest=1, longest=60),
        answer=body.choice("answer", Answer.values),
        checked_at=draft.captured_at,
        happened_on=draft.captured_at.date(),
        note=text(body.text("note", longest=NOTE_MAX, default="")),
    )
    _add(draft, fact, body)


def _installation(body: Members, draft: Draft) -> None:
    code = body.text("system", longest=40)
    system = System.objects.filter(code=code).first()
    if system is None:
        raise body.refusal("system", "is on no data sheet here; add the system first")
    fact = installation(
        uuid=body.uuid("uuid"),
        system=system,
        substrate=body.choice("substrate", Substrate.values),
        started_on=body.day("started_on"),
        completed_on=body.optional_day("completed_on"),
    )
    _add(draft, fact, body)


def _photo(body: Members, draft: Draft) -> None:
    caption = text(body.text("caption", longest=NOTE_MAX, default=""))
    fact = _exhibit(body, ExhibitKind.PHOTO, draft.captured_at)
    fact.caption = caption
    fact.penetration_label = body.text("penetration_label", longest=80, default="")
    found = body.optional_uuid("finding")
    fact.x_m, fact.y_m = body.place()
    fact.after_of = body.optional_uuid("after_of")
    if fact.after_of == fact.uuid:
        raise body.refusal("after_of", "names the photo itself")
    # An exhibit has no such column: it stays in the operation's own bytes.
    body.yes("is_before", otherwise=False)
    _add(draft, fact, body)
    if found is not None:
        named = Named(table=Finding, uuid=found, fact=fact, column="finding")
        draft.named.append(named)
    _name_bytes(draft, fact, body)


def _signature(body: Members, draft: Draft) -> None:
    name = body.text("signer_name", shortest=1, longest=120)
    fact = _exhibit(body, ExhibitKind.SIGN_OFF, body.instant("signed_at"))
    fact.signer_role = body.choice("role", SignerRole.values)
    fact.caption = text(f"{name} ({SignerRole(fact.signer_role).label})")
    _add(draft, fact, body)
    _name_bytes(draft, fact, body)


def _exhibit(body: Members, kind: ExhibitKind, device_at: datetime) -> Exhibit:
    offset = device_at.utcoffset() or timedelta(0)
    return Exhibit(
        uuid=body.uuid("uuid"),
        sha256=body.text("sha256", shortest=64, longest=64).lower(),
        kind=kind,
        device_at=device_at,
        device_offset_min=offset // timedelta(minutes=1),
        matched_by=MatchedBy.SENDER,
    )


def _name_bytes(draft: Draft, fact: Exhibit, body: Members) -> None:
    body.text("media_type", longest=60, default="")
    draft.named.append(
        Named(table=FieldPhoto, uuid=body.uuid("photo"), fact=fact, sha256=fact.sha256)
    )


KINDS: dict[str, Callable[[Members, Draft], None]] = {
    "adhesion": _adhesion,
    "check": _check,
    "climate": _climate,
    "coat_log": _coat_log,
    "cure": _cure,
    "film": _film,
    "finding": _finding,
    "installation": _installation,
    "moisture": _moisture,
    "penetration": _penetration,
    "photo": _photo,
    "signature": _signature,
    "visit": _visit,
}
