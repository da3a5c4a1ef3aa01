"""What one edition says in words and demands of people, as the law's checks read it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from warranty.rules.terms import Designation


class Item(StrEnum):
    """One piece of an edition's text."""

    COVERED_OWNER = "covered_owner"
    COVERED = "covered"
    EXCLUSIONS = "exclusions"
    REMEDY = "remedy"
    NOT_PAID = "not_paid"
    DUTIES = "duties"
    DUTIES_REASON = "duties_reason"
    CLAIM_PROCEDURE = "claim_procedure"
    WHO_MAY_WORK = "who_may_work"
    DISPUTE_MECHANISM = "dispute_mechanism"
    IMPLIED_LIMIT = "implied_limit"
    CONSEQUENTIAL_LIMIT = "consequential_limit"
    RIGHTS = "rights"
    REGISTRATION = "registration"


ITEMS: Final[tuple[Item, ...]] = tuple(Item)

# The sentences that 16 CFR 701.3(a)(7) to (9) ask for. The regulation's own words.
IMPLIED_LIMIT_SENTENCE: Final = (
    "Some States do not allow limitations on how long an implied warranty lasts, so the"
    " above limitation may not apply to you."
)
CONSEQUENTIAL_LIMIT_SENTENCE: Final = (
    "Some States do not allow the exclusion or limitation of incidental or"
    " consequential damages, so the above limitation or exclusion may not apply to you."
)
RIGHTS_SENTENCE: Final = (
    "This warranty gives you specific legal rights, and you may also have other rights"
    " which vary from State to State."
)
LOCAL_LAW_SENTENCE: Final = (
    "Local law governs; nothing here limits rights that cannot be waived."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Promise:
    """One edition's title, demands and texts.

    Parameters
    ----------
    title : str
        The printed title.
    designation : Designation
        Full or limited.
    term_months : int or None
        Length of the promise; None is for the life named in ``life_of``. [month]
    life_of : str
        Whose life a promise without a term runs for.
    demands_registration, demands_inspections : bool
        Whether the promise rests on them.
    inspections_free : bool
        Whether demanded inspections cost the owner nothing.
    accepts_other_shops : bool
        Whether another shop's inspection counts.
    is_transferable, transfer_needs_inspection : bool
        Whether a later holder is covered, and only after an inspection.
    warrantor_name, warrantor_address : str
        Who gives the promise, and where letters reach them.
    texts : dict of Item to str
        What the edition says; a missing item is blank.
    """

    title: str
    designation: Designation
    term_months: int | None
    life_of: str
    demands_registration: bool
    demands_inspections: bool
    inspections_free: bool
    accepts_other_shops: bool
    is_transferable: bool
    transfer_needs_inspection: bool
    warrantor_name: str
    warrantor_address: str
    texts: dict[Item, str]

    def says(self, item: Item) -> str:
        """Return the text of an item, without the white space around it."""
        return self.texts.get(item, "").strip()

    @property
    def is_full(self) -> bool:
        """Whether the title promises the federal minimum standards."""
        return self.designation is Designation.FULL

    @property
    def every_text(self) -> tuple[tuple[str, str], ...]:
        """The title and all items that say something, with their names."""
        said = ((item.value, self.says(item)) for item in ITEMS)
        return (("title", self.title), *((name, text) for name, text in said if text))
