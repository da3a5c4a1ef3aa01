"""A database with every kind of record, and ways to change it behind the app."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.apps import apps
from django.db import connection, models

from fleet.actions.attendance import visit
from fleet.actions.coaches import hand_over, retire_coach
from fleet.actions.readings import adhesion_reading, dry_reading, moisture_reading
from fleet.actions.roofs import record, record_visit, text
from fleet.models import (
    Alteration,
    Check,
    CoachFact,
    Exhibit,
    Finding,
    LedgerEntry,
    PrivateText,
    Record,
    Roof,
    RoofFact,
    Visit,
)
from tests.builders import (
    COMPLETED,
    NOON,
    TODAY,
    make_claim,
    make_owner,
    make_promised_roof,
    make_user,
    office,
)
from warranty.actions.approvals import approve_visit
from warranty.actions.promises import waive
from warranty.actions.receipts import note_receipt
from warranty.models import (
    Certificate,
    Claim,
    ClaimMove,
    ClaimWait,
    Decision,
    DoubtAnswer,
    Edition,
    Proposal,
    RegistrationLink,
    Remedy,
    Transfer,
)

AGAIN = NOON + timedelta(hours=1)


def record_everything() -> tuple[Roof, Roof]:
    """Return two roofs of two coaches; the first has a row in every table of facts."""
    other = make_promised_roof()
    roof = make_promised_roof()
    told = {"roof": roof, "by": office(), "now": NOON}
    # No fact, but a registration can be made to name it.
    RegistrationLink.objects.create(
        roof=other, made_at=NOON, made_by=office(), expires_at=AGAIN
    )
    found = Finding(
        happened_on=TODAY,
        severity="SERIOUS",
        cause="split",
        penetration_label="vent 1",
        x_m=Decimal(1),
        y_m=Decimal(1),
        note=text("split sealant"),
    )
    attended = record_visit(
        ref="V-1",
        kind="INSPECTION",
        happened_on=TODAY,
        technician_name="Rowan Pike",
        note="ladder on gravel",
        result="FAIL",
        findings=[found],
        **told,
    )
    [foreign] = record(kind="visit", facts=[foreign_visit()], **told)
    approve_visit(visit=foreign, why="photos of every vent", by=office(), now=NOON)
    note_receipt(
        happened_on=TODAY, invoice_no="R-1", paid_cents=1, visit=foreign, **told
    )
    record_visit(ref="V-2", kind="REPAIR", happened_on=TODAY, cured=[found], **told)
    readings = [
        dry_reading(
            coat="base",
            area_no=2,
            spot_no=1,
            shot_no=1,
            method="EDDY_CURRENT",
            value=Decimal(12),
            unit="mil",
            happened_on=TODAY,
            x_m=Decimal(1),
            y_m=Decimal(2),
        ),
        moisture_reading(
            moisture_pct=Decimal(12),
            mode="PIN",
            happened_on=TODAY,
            species="fir",
            wood_c=Decimal(20),
            x_m=Decimal(1),
            y_m=Decimal(2),
        ),
        adhesion_reading(
            method="PULL_OFF",
            value=Decimal(2),
            unit="MPa",
            coat="base",
            happened_on=TODAY,
            x_m=Decimal(1),
            y_m=Decimal(2),
        ),
        adhesion_reading(method="TAPE_X", grade=5, happened_on=TODAY),
        Alteration(happened_on=TODAY, note=text("a solar panel"), approved_on=TODAY),
    ]
    record(kind="readings", facts=readings, **told)
    record(kind="evidence", facts=evidence_of(attended, found), **told)
    waive(
        clause="climate",
        from_on=TODAY,
        until_on=TODAY,
        why="the logger was wet",
        seconded_by=make_user(),
        **told,
    )
    claim = make_claim(roof, penetration_label="vent 1", x_m=Decimal(1), y_m=Decimal(1))
    decided = decision_of(claim)
    record(kind="promise", facts=[decided, *promise_facts(claim)], **told)
    record(kind="remedy", facts=[remedy_of(decided, attended)], **told)
    coach = {"coach": roof.coach, "by": office(), "now": AGAIN}
    hand_over(owner=make_owner(), from_on=TODAY, **coach)
    retire_coach(retired_on=date(2040, 1, 1), **coach)
    return roof, other


def foreign_visit() -> Visit:
    """Return a passing inspection by another shop."""
    return visit(
        ref="V-3",
        kind="INSPECTION",
        happened_on=TODAY,
        result="PASS",
        shop="Pine Bend RV Service",
    )


def evidence_of(attended: Visit, found: Finding) -> list[RoofFact]:
    """Return a check and a photo of a visit, every column filled."""
    told = Check(
        visit=attended,
        step="hold.dry-and-clean",
        answer="YES",
        checked_at=NOON,
        happened_on=TODAY,
        note=text("wiped twice"),
    )
    photo = Exhibit(
        sha256="a" * 64,
        size_bytes=1,
        media_type="image/jpeg",
        kind="PHOTO",
        matched_by="DAY",
        visit=attended,
        finding=found,
        claim=uuid4(),
        claim_holder=make_owner(),
        penetration_label="vent 1",
        caption=text("the split"),
        taken_local="2026-06-01T12:00:00",
        taken_offset_min=-240,
        taken_at=NOON,
        place=text("43.1 -85.2"),
        device_at=NOON,
        device_offset_min=-240,
    )
    return [told, photo]


def decision_of(claim: Claim) -> Decision:
    """Return an approval that two people stand behind."""
    return Decision(
        claim=claim,
        round_no=1,
        noticed_on=TODAY,
        outcome="APPROVED",
        approved_cents=100,
        cause="film",
        edition=Edition.objects.latest("pk"),
        rule_version="1",
        known_at=NOON,
        standing="IN_FORCE",
        verdicts="M",
        inputs=text("{}"),
        results=text("[]"),
        reasons=text("[]"),
        decided_by=office(),
        seconded_by=make_user(),
    )


def promise_facts(claim: Claim) -> list[RoofFact]:
    """Return what else the work on a promise and a claim leaves behind."""
    return [
        Proposal(
            claim=claim,
            round_no=1,
            noticed_on=TODAY,
            outcome="APPROVED",
            approved_cents=100,
            cause="film",
            reasons=text("[]"),
            seen_sha256="0" * 64,
        ),
        ClaimMove(
            claim=claim,
            move="CLOSE",
            source="DECIDED",
            target="CLOSED",
            happened_on=TODAY,
            why=text("done"),
        ),
        ClaimWait(claim=claim, turn="WAIT", happened_on=TODAY, why=text("asked")),
        DoubtAnswer(
            sign="WET_ALL_EQUAL", key="0" * 64, word="ANSWERED", why=text("one comb")
        ),
        Transfer(
            former=make_owner(),
            holder=make_owner(),
            sold_on=TODAY,
            told_on=TODAY,
            deadline_on=TODAY,
        ),
        Certificate(
            number="00001-AAAAA-BBBBB-CCCCC",
            edition=Edition.objects.latest("pk"),
            holder=make_owner(),
            issued_on=TODAY,
            content_sha256="0" * 64,
        ),
    ]


def remedy_of(decided: Decision, attended: Visit) -> Remedy:
    """Return a remedy that costs less than was approved."""
    return Remedy(
        decision=decided,
        part_cents=1,
        labour_cents=2,
        interior_cents=3,
        done_on=TODAY,
        visit=attended,
        note=text("resealed"),
    )


def fact_tables() -> list[type[Record]]:
    """Return every table of facts of the two rooms."""
    return sorted(
        (table for table in apps.get_models() if issubclass(table, Record)),
        key=lambda table: table._meta.label,
    )


@contextmanager
def unguarded(table: type[models.Model]) -> Iterator[None]:
    """Take a table's triggers and checks away, as who holds the database could.

    PostgreSQL's checks stay away until the test's transaction is rolled back.
    """
    guards = {"postgresql": _postgresql_unguarded, "sqlite": _sqlite_unguarded}
    with guards[connection.vendor](table._meta.db_table):
        yield


@contextmanager
def _postgresql_unguarded(table: str) -> Iterator[None]:
    name = connection.ops.quote_name(table)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT conname FROM pg_constraint WHERE contype = 'c' "
            "AND conrelid = %s::regclass",
            [table],
        )
        checks = [check for (check,) in cursor.fetchall()]
        # A table with rows still to be checked cannot be altered.
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for check in checks:
            cursor.execute(f'ALTER TABLE {name} DROP CONSTRAINT "{check}"')
        cursor.execute(f"ALTER TABLE {name} DISABLE TRIGGER USER")
        yield
        cursor.execute(f"ALTER TABLE {name} ENABLE TRIGGER USER")
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")


@contextmanager
def _sqlite_unguarded(table: str) -> Iterator[None]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' "
            "AND tbl_name = %s",
            [table],
        )
        triggers = cursor.fetchall()
        for name, _ in triggers:
            cursor.execute(f"DROP TRIGGER {connection.ops.quote_name(name)}")
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        yield
        cursor.execute("PRAGMA ignore_check_constraints = OFF")
        for _, sql in triggers:
            cursor.execute(sql)


def change(row: models.Model, **values: Any) -> None:
    """Change columns of one row although triggers refuse it."""
    with unguarded(type(row)):
        type(row)._default_manager.filter(pk=row.pk).update(**values)


def delete(row: models.Model) -> None:
    """Delete one row although triggers refuse it."""
    table = connection.ops.quote_name(row._meta.db_table)
    with unguarded(type(row)), connection.cursor() as cursor:
        cursor.execute(f"DELETE FROM {table} WHERE id = %s", [row.pk])  # noqa: S608 - our own table's name


def another_value(row: Record, name: str) -> Any:
    """Return a value of the column's kind that the row does not have."""
    field = row._meta.get_field(name)
    value = getattr(row, name)
    match field:
        case models.ForeignKey():
            return another_row(row, field)
        case models.BooleanField():
            return not value
        case models.UUIDField():
            return uuid4()
        case models.DateTimeField():
            return (value or NOON) + timedelta(microseconds=1)
        case models.DateField():
            return (value or COMPLETED) + timedelta(days=1)
        case models.DecimalField():
            return (value or 0) + Decimal(1).scaleb(-field.decimal_places)
        case models.IntegerField():
            return (value or 0) + 1
        case _ if field.choices:
            return next(key for key, _ in field.choices if key not in ("", value))
    return OTHER_WORDS.get(name) or f"{value[:-1]}~"


# Columns that a constraint holds to a list of words.
OTHER_WORDS = {"temperature_unit": "C", "unit": "um", "length_unit": "m"}


def another_row(row: Record, field: models.ForeignKey) -> models.Model:
    """Return another row of the table that a column names."""
    table = field.related_model
    if table is PrivateText:
        return PrivateText.objects.create(body="somebody else's words")
    known = getattr(row, field.attname)
    others = table._default_manager.exclude(pk=known).order_by("pk")
    found = others.first()
    return found or copy_of(table._default_manager.get(pk=known))


def copy_of(row: models.Model) -> models.Model:
    """Save a second row like this one under a new identity, in no ledger."""
    row.pk, row.uuid = None, uuid4()
    for unique in ("code", "ref", "unit_no", "name", "username"):
        if hasattr(row, unique):
            setattr(row, unique, f"{getattr(row, unique)}-2")
    if hasattr(row, "round_no"):
        row.round_no += 1
    row._state.adding = True
    row.save(force_insert=True)
    return row


def entry_of(row: Record, roof: Roof) -> LedgerEntry:
    """Return the first entry of the roof's chain that tells of a row."""
    if isinstance(row, RoofFact):
        return row.entry
    return roof.entries.filter(payload__contains=str(row.uuid)).earliest("seq")


def is_about(row: Record, roof: Roof) -> bool:
    """Return whether a fact is about a roof or its coach."""
    if isinstance(row, CoachFact):
        return row.coach_id == roof.coach_id
    return isinstance(row, RoofFact) and row.roof_id == roof.pk
