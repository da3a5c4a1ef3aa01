"""Note what was invoiced for a roof, and what an inspection cost its owner."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID, uuid4

from fleet.actions.errors import InvalidValue
from fleet.actions.roofs import record
from fleet.civil import office_day
from fleet.models import Roof, User, Visit
from warranty.models import Receipt

# More than any roof costs: a slip of the keyboard. [cent]
MOST_CENTS = 10_000_000


def note_receipt(
    *,
    roof: Roof,
    happened_on: date,
    by: User,
    now: datetime,
    invoice_no: str = "",
    paid_cents: int | None = None,
    visit: Visit | None = None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> Receipt:
    """Note an invoice on the coverage, or the fee paid on a visit.

    Raises:
        InvalidValue: nothing is noted, an amount that cannot be, a day to come, or a
            visit to another roof.
    """
    if not invoice_no.strip() and paid_cents is None:
        raise InvalidValue("invoice_no", "Give an invoice number or an amount.")
    if paid_cents is not None and not 0 <= paid_cents <= MOST_CENTS:
        raise InvalidValue("paid_cents", "The amount cannot be right. Check it.")
    if happened_on > office_day(now):
        raise InvalidValue("happened_on", "The day lies in the future. Check it.")
    if visit is not None and visit.roof_id != roof.pk:
        raise InvalidValue("visit", f"Visit {visit.ref} was to another roof.")
    fact = Receipt(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        visit=visit,
        happened_on=happened_on,
        invoice_no=invoice_no.strip(),
        paid_cents=paid_cents,
    )
    [kept] = record(roof=roof, kind="receipt", facts=[fact], by=by, now=now)
    if not isinstance(kept, Receipt):
        raise TypeError("a receipt was expected")
    return kept
