"""What was recorded about one promise beside its clauses, as its page shows it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from fleet.ledger.correction import rows_that_stand
from fleet.models import Contact, Roof, Visit
from fleet.scope import Scope, Sight
from fleet.selectors.contacts import contacts_of
from fleet.selectors.records import RoofRecords
from warranty.models import Receipt, Registration, Transfer, VisitApproval, Waiver
from warranty.selectors.doubts import DoubtShown, doubts_in
from warranty.selectors.facts import approvals_of, can_satisfy
from warranty.selectors.terms import edition_promised
from warranty.selectors.transfers import transfers_visible_to


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherShopVisit:
    """A visit by another shop, and whether it counts."""

    visit: Visit
    approval: VisitApproval | None
    accepted: bool  # by the edition

    @property
    def can_count(self) -> bool:
        """Whether it is of the kind, and came out so, that can satisfy a due date."""
        return can_satisfy(self.visit)

    @property
    def counts(self) -> bool:
        """Whether it can satisfy a due date as things stand."""
        return self.can_count and (self.accepted or self.approval is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class TransferShown:
    """One transfer; a holder that the reader may not know is None."""

    transfer: Transfer
    former: str | None
    holder: str | None
    is_open: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PromisePage:
    """The promise's own records, and for staff who to reach and what was paid."""

    other_shops: tuple[OtherShopVisit, ...]
    transfers: tuple[TransferShown, ...]
    registration: Registration | None
    register_by: date | None
    waivers: tuple[Waiver, ...]
    receipts: tuple[Receipt, ...]
    contacts: tuple[Contact, ...]
    doubts: tuple[DoubtShown, ...]


def promise_page(
    records: RoofRecords, scope: Scope, *, known_at: datetime
) -> PromisePage:
    """Return what one roof's page tells of its promise, as known at a moment.

    Receipts, contacts and doubts are for the office and its technicians alone.
    """
    roof = records.roof
    is_staff = scope.sight is Sight.EVERYTHING
    edition = edition_promised(roof.pk)
    registered = _standing(Registration, roof, known_at, "registered_on", "link")
    completed_on = records.installation.completed_on if records.installation else None
    return PromisePage(
        other_shops=_other_shops(
            records,
            accepted=edition is not None and edition.accepts_other_shops,
            known_at=known_at,
        ),
        transfers=_transfers(roof, scope, known_at),
        registration=registered[0] if registered else None,
        register_by=completed_on + timedelta(days=edition.registration_days)
        if edition and completed_on
        else None,
        waivers=_standing(Waiver, roof, known_at, "from_on", "why", "seconded_by")
        if is_staff
        else (),
        receipts=_standing(Receipt, roof, known_at, "happened_on", "visit")
        if is_staff
        else (),
        contacts=tuple(
            contact
            for contact in contacts_of(roof.coach.holder, scope)
            if contact.coach_id in (None, roof.coach_id)
        )
        if is_staff
        else (),
        doubts=doubts_in(records, known_at=known_at) if is_staff else (),
    )


def _other_shops(
    records: RoofRecords, *, accepted: bool, known_at: datetime
) -> tuple[OtherShopVisit, ...]:
    roof_id = records.roof.pk
    approved = approvals_of({roof_id: records}, known_at=known_at).get(roof_id, {})
    return tuple(
        OtherShopVisit(
            visit=visit,
            approval=approved.get(records.origin(visit.uuid)),
            accepted=accepted,
        )
        for visit in reversed(records.visits)
        if visit.is_by_other_shop
    )


def _transfers(
    roof: Roof, scope: Scope, known_at: datetime
) -> tuple[TransferShown, ...]:
    rows = transfers_visible_to(scope).filter(roof=roof, recorded_at__lte=known_at)
    may_name = scope.sight is Sight.EVERYTHING

    def named(owner: object) -> str | None:
        is_own = getattr(owner, "pk", None) in scope.owner_ids
        return str(owner) if owner is not None and (may_name or is_own) else None

    return tuple(
        TransferShown(
            transfer=row,
            former=named(row.former),
            holder=named(row.holder),
            is_open=row.needs_inspection and not row.is_inspected,
        )
        for row in rows.order_by("-sold_on", "-pk")
    )


def _standing(
    table: type, roof: Roof, known_at: datetime, order: str, *joined: str
) -> tuple:
    rows = table._default_manager.filter(roof=roof, recorded_at__lte=known_at)
    found = rows.select_related("recorded_by", *joined).order_by(order, "pk")
    return rows_that_stand(list(found)).rows
