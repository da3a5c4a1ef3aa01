"""Pass promises on with a sale: one coach, or a fleet's at once."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID, uuid5

from fleet.actions.coaches import hand_over
from fleet.actions.errors import InvalidValue
from fleet.actions.recording import recording
from fleet.actions.roofs import record
from fleet.civil import office_day
from fleet.errors import DomainError
from fleet.models import Coach, Owner, Ownership, Roof, User
from warranty.models import Edition, Transfer
from warranty.selectors.terms import edition_promised

# One transaction holds every chain it writes: a larger sale is sent in parts.
MOST_COACHES: Final = 200


class TransferNotAllowed(DomainError):
    """The edition does not pass on to a later holder."""

    code = "transfer-not-allowed"
    http_status = 409


def transfer_coverages(
    *,
    coaches: Sequence[Coach],
    to: Owner,
    sold_on: date,
    told_on: date,
    uuid: UUID,
    by: User,
    now: datetime,
) -> list[Transfer]:
    """Record a sale: the new holder of every coach, and the transfer of each promise.

    All of it or nothing. Sent again under the same ``uuid`` it is the same sale.
    A late notice is recorded as late; what it means is the office's word.

    Raises:
        InvalidValue: no coach, too many, one twice, dates that cannot be, or a coach
            that the new holder has already.
        TransferNotAllowed: an edition does not pass on.
    """
    _refuse_impossible(coaches, sold_on=sold_on, told_on=told_on, now=now)
    with recording(by=by, now=now) as made:
        promised = _promised(coaches)
        made.lock(roof.pk for roof, _ in promised)
        facts = [
            (roof, _fact(roof, edition, uuid, to=to, sold_on=sold_on, told_on=told_on))
            for roof, edition in promised
        ]
        _refuse_held(coaches, to=to, sale=uuid)
        for coach in sorted(coaches, key=lambda each: each.pk):
            hand_over(
                coach=coach,
                owner=to,
                from_on=sold_on,
                by=by,
                now=now,
                uuid=uuid5(uuid, str(coach.uuid)),
            )
        kept = [
            record(roof=roof, kind="transfer", facts=[fact], by=by, now=now)[0]
            for roof, fact in facts
        ]
    return [fact for fact in kept if isinstance(fact, Transfer)]


def _promised(coaches: Sequence[Coach]) -> list[tuple[Roof, Edition]]:
    """Return the roofs that have a promise, each with its edition.

    Raises:
        TransferNotAllowed: an edition does not pass on.
    """
    roofs = Roof.objects.filter(coach__in=coaches).select_related("coach__holder")
    found = []
    for roof in roofs.order_by("pk"):
        edition = edition_promised(roof.pk)
        if edition is None:
            continue
        if not edition.is_transferable:
            raise TransferNotAllowed(
                f"The promise on coach {roof.coach.unit_no} does not pass to a later"
                f" holder (edition {edition.code}). Record the sale as a change of"
                " holder instead."
            )
        found.append((roof, edition))
    return found


def _fact(
    roof: Roof,
    edition: Edition,
    sale: UUID,
    *,
    to: Owner,
    sold_on: date,
    told_on: date,
) -> Transfer:
    fact_uuid = uuid5(sale, str(roof.uuid))
    before = Transfer.objects.filter(uuid=fact_uuid).first()
    days = edition.transfer_notice_days
    return Transfer(
        uuid=fact_uuid,
        # Sent again, the coach has moved on already: the first word counts.
        former=before.former if before else roof.coach.holder,
        holder=to,
        sold_on=sold_on,
        told_on=told_on,
        deadline_on=None if days is None else sold_on + timedelta(days=days),
        needs_inspection=edition.transfer_needs_inspection,
    )


def _refuse_held(coaches: Sequence[Coach], *, to: Owner, sale: UUID) -> None:
    """Refuse a sale to who holds the coach already, unless it is this very sale."""
    same_sale = {uuid5(sale, str(coach.uuid)) for coach in coaches}
    if Ownership.objects.filter(uuid__in=same_sale).exists():
        return
    for coach in Coach.objects.filter(pk__in=[c.pk for c in coaches], holder=to)[:1]:
        raise InvalidValue("to", f"Coach {coach.unit_no} is held by them already.")


def _refuse_impossible(
    coaches: Sequence[Coach], *, sold_on: date, told_on: date, now: datetime
) -> None:
    if not 1 <= len(coaches) <= MOST_COACHES:
        raise InvalidValue(
            "coaches", f"Name 1 to {MOST_COACHES} coaches; send a larger sale in parts."
        )
    if len({coach.pk for coach in coaches}) != len(coaches):
        raise InvalidValue("coaches", "A coach is named twice. Name each once.")
    if told_on > office_day(now):
        raise InvalidValue("told_on", "The notice lies in the future. Check the day.")
