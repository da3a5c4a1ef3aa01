"""The list of roofs that a caller may see, searched, filtered and paged."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from django.db.models import F, Q, QuerySet

from fleet.civil import office_day
from fleet.models import Roof
from fleet.scope import Scope
from fleet.selectors.scopes import roofs_visible_to
from fleet.vin import normalise
from warranty.models import Standing as StoredStanding
from warranty.rules.calendar import add_months
from warranty.rules.clause import CLAUSE_CODE, Clause, Standing, Verdict
from warranty.selectors.standings import standings_of

PAGE_ROOFS = 50
# Counting stops here: a person narrows the search instead of reading on.
COUNT_AT_MOST = 10_000
NO_PROMISE = "NONE"
OVERDUE = "overdue"
_VERDICT_OF_LETTER = {"M": Verdict.MET, "N": Verdict.NOT_MET, "U": Verdict.UNKNOWN}


class Order(StrEnum):
    """What the list is sorted by."""

    COACH = "coach"
    DUE = "due"


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofQuery:
    """What a person asked of the list."""

    words: str = ""
    standing: str = ""  # a standing's word, or NO_PROMISE
    due: str = ""  # OVERDUE, or a month as in 2026-11
    order: Order = Order.COACH
    page: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofRow:
    """One roof in the list. A blank standing is a roof without a promise."""

    roof: Roof
    standing: str
    next_due_on: date | None
    film: Verdict | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoofPageOfList:
    """One page of the list."""

    rows: tuple[RoofRow, ...]
    count: int
    is_count_cut: bool
    first: int  # the place of the page's first row, from one
    page: int
    pages: int

    @property
    def last(self) -> int:
        return self.first + len(self.rows) - 1

    @property
    def previous_page(self) -> int | None:
        return self.page - 1 if self.page > 1 else None

    @property
    def next_page(self) -> int | None:
        return self.page + 1 if self.page < self.pages else None


def roof_page_of_list(
    scope: Scope, query: RoofQuery, *, now: datetime
) -> RoofPageOfList:
    """Return one page of the roofs that a caller may see and asked for."""
    today = office_day(now)
    found = _sorted(_filtered(roofs_visible_to(scope), query, today), query.order)
    count = found.order_by().values("pk")[: COUNT_AT_MOST + 1].count()
    shown = min(count, COUNT_AT_MOST)
    pages = max(1, -(-shown // PAGE_ROOFS))
    page = min(max(query.page, 1), pages)
    start = (page - 1) * PAGE_ROOFS
    roofs = list(found[start : start + PAGE_ROOFS])
    return RoofPageOfList(
        rows=tuple(_rows(roofs, today=today, now=now)),
        count=shown,
        is_count_cut=count > COUNT_AT_MOST,
        first=start + 1 if roofs else 0,
        page=page,
        pages=pages,
    )


def _filtered(roofs: QuerySet[Roof], query: RoofQuery, today: date) -> QuerySet[Roof]:
    roofs = roofs.select_related("standing").filter(coach__merged_into__isnull=True)
    for word in query.words.split():
        roofs = roofs.filter(_matches(word))
    if query.standing == NO_PROMISE:
        roofs = roofs.filter(standing__isnull=True)
    elif query.standing:
        roofs = roofs.filter(standing__word=query.standing)
    if query.due:
        # What has ended has no next inspection to show.
        roofs = roofs.exclude(standing__word=Standing.ENDED)
        roofs = roofs.filter(_is_due(query.due, today))
    return roofs


def _matches(word: str) -> Q:
    found = (
        Q(coach__unit_no__icontains=word)
        | Q(coach__holder__name__icontains=word)
        | Q(coach__town__icontains=word)
    )
    vin = normalise(word)
    return found | Q(coach__vin__icontains=vin) if vin else found


def _is_due(due: str, today: date) -> Q:
    if due == OVERDUE:
        return Q(standing__next_due_on__lt=today)
    first = date.fromisoformat(f"{due}-01")
    after = add_months(first, 1)
    return Q(standing__next_due_on__gte=first, standing__next_due_on__lt=after)


def _sorted(roofs: QuerySet[Roof], order: Order) -> QuerySet[Roof]:
    if order is Order.DUE:
        due = F("standing__next_due_on").asc(nulls_last=True)
        return roofs.order_by(due, "coach__unit_no", "roof_no")
    return roofs.order_by("coach__unit_no", "roof_no")


def _rows(roofs: list[Roof], *, today: date, now: datetime) -> Iterable[RoofRow]:
    kept = {roof.pk: _stored(roof) for roof in roofs}
    # The sweep may not have come by yet: what no longer holds is asked again here.
    stale = [
        pk
        for pk, stored in kept.items()
        if stored and stored.holds_until and stored.holds_until < today
    ]
    fresh = standings_of(stale, as_of=today, known_at=now) if stale else {}
    for roof in roofs:
        stored, answer = kept[roof.pk], fresh.get(roof.pk)
        if answer is not None:
            yield _row(
                roof,
                answer.standing.value,
                answer.next_due_on,
                dict(answer.verdicts).get(Clause.FILM),
            )
        elif stored is not None:
            film = stored.verdicts[CLAUSE_CODE[Clause.FILM]]
            yield _row(
                roof, stored.word, stored.next_due_on, _VERDICT_OF_LETTER.get(film)
            )
        else:
            yield _row(roof, "", None, None)


def _row(
    roof: Roof, standing: str, next_due_on: date | None, film: Verdict | None
) -> RoofRow:
    return RoofRow(
        roof=roof,
        standing=standing,
        next_due_on=None if standing == Standing.ENDED else next_due_on,
        film=film,
    )


def _stored(roof: Roof) -> StoredStanding | None:
    return getattr(roof, "standing", None)
