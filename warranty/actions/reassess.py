"""Keep each roof's standing as fresh as its records and the day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Final

from django.db import transaction
from django.db.models import Q

from fleet.actions.events import Happening, tell
from fleet.civil import office_day
from fleet.models import EventKind, Roof
from warranty.models import Standing
from warranty.rules.clause import CLAUSES, Verdict
from warranty.rules.version import RULE_VERSION
from warranty.selectors.standings import RoofStanding, standings_of

ALL_KNOWN: Final = datetime.max.replace(tzinfo=UTC)
# A batch's facts stay in memory together.
BATCH_ROOFS = 500
# What of a standing is told when it changes; the day it was asked for is not.
TOLD = ("word", "next_due_on", "holds_until", "verdicts")
LETTER = {Verdict.MET: "M", Verdict.NOT_MET: "N", Verdict.UNKNOWN: "U"}


def after_recording(
    *, roof_ids: tuple[int, ...], entry_ids: tuple[int, ...], now: datetime
) -> None:
    """Reassess the roofs of a recording, inside its transaction."""
    reassess(roof_ids, now=now)


def reassess(roof_ids: Sequence[int], *, now: datetime) -> int:
    """Assess roofs as of today and store the answers; return how many have one.

    Everything written counts, even under a later ``recorded_at``: of two writers that
    waited for each other the second may have looked at its clock first.
    """
    written = 0
    for start in range(0, len(roof_ids), BATCH_ROOFS):
        batch = roof_ids[start : start + BATCH_ROOFS]
        answers = standings_of(batch, as_of=office_day(now), known_at=ALL_KNOWN)
        rows = [_row(answer, now) for answer in answers.values()]
        tell(_happenings(rows, batch, now))
        Standing.objects.bulk_create(
            rows,
            update_conflicts=True,
            unique_fields=["roof"],
            update_fields=[
                "word",
                "as_of",
                "next_due_on",
                "holds_until",
                "verdicts",
                "rule_version",
                "assessed_at",
            ],
        )
        without = set(batch) - answers.keys()
        if without:
            # The assignment of terms was struck: no answer is left to keep.
            Standing.objects.filter(roof_id__in=without).delete()
        written += len(rows)
    return written


def reassess_due(*, now: datetime, limit: int = BATCH_ROOFS) -> int:
    """Reassess roofs whose stored answer no longer holds; return how many.

    Reads by the horizon's index: the cost grows with what changed, not with the fleet.
    """
    today = office_day(now)
    stale = Q(holds_until__lt=today) & Q(as_of__lt=today)
    with transaction.atomic():
        due = list(
            Standing.objects.select_for_update(skip_locked=True)
            .filter(stale)
            .order_by("holds_until", "roof_id")
            .values_list("roof_id", flat=True)[:limit]
        )
        return reassess(due, now=now) if due else 0


def _happenings(
    rows: Sequence[Standing], batch: Sequence[int], now: datetime
) -> list[Happening]:
    """Return which standings are told of: those that are new, other or gone."""
    known = Standing.objects.filter(roof_id__in=batch).values_list("roof_id", *TOLD)
    before = {roof_id: tuple(told) for roof_id, *told in known}
    after = {row.roof_id: tuple(getattr(row, name) for name in TOLD) for row in rows}
    changed = {
        roof_id
        for roof_id in before.keys() | after.keys()
        if before.get(roof_id) != after.get(roof_id)
    }
    if not changed:
        return []
    words = {row.roof_id: row.word for row in rows}
    places = Roof.objects.filter(pk__in=changed).order_by("pk")
    return [
        Happening(
            kind=EventKind.STANDING,
            subject=uuid,
            coach_id=coach_id,
            roof_id=roof_id,
            owner_id=holder_id,
            detail=words.get(roof_id, ""),
            at=now,
        )
        for roof_id, uuid, coach_id, holder_id in places.values_list(
            "pk", "uuid", "coach_id", "coach__holder_id"
        )
    ]


def _row(answer: RoofStanding, now: datetime) -> Standing:
    given = dict(answer.verdicts)
    return Standing(
        roof_id=answer.roof_id,
        word=answer.standing.value,
        as_of=answer.as_of,
        next_due_on=answer.next_due_on,
        holds_until=answer.holds_until,
        verdicts="".join(
            LETTER[given[clause]] if clause in given else "-" for clause in CLAUSES
        ),
        rule_version=RULE_VERSION,
        assessed_at=now,
    )
