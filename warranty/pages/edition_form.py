"""The form in which an edition is drafted: numbers first, then its text by item."""

from __future__ import annotations

from typing import Final

from django import forms

from fleet.models import OwnerKind
from warranty.models import Edition
from warranty.rules.promise import (
    CONSEQUENTIAL_LIMIT_SENTENCE,
    IMPLIED_LIMIT_SENTENCE,
    RIGHTS_SENTENCE,
)
from warranty.rules.terms import Anchor, Designation

_ANCHORS = [
    (Anchor.ANNIVERSARY.value, "the anniversary of completion"),
    (Anchor.LAST_INSPECTION.value, "the last passing inspection"),
]
_DESIGNATIONS = [
    (Designation.LIMITED.value, "limited"),
    (Designation.FULL.value, "full"),
]
# Longest text of one item: two printed pages.
TEXT_LENGTH: Final = 8000
GROUPS: Final[tuple[tuple[str, tuple[str, ...]], ...]] = (
    ("What it is", ("code", "title", "designation", "owner_kind")),
    ("How long", ("term_months", "life_of")),
    (
        "Inspections",
        (
            "anchor",
            "interval_months",
            "window_days",
            "grace_days",
            "reinstatement_days",
            "serious_cure_days",
            "inspections_free",
            "accepts_other_shops",
        ),
    ),
    (
        "Registration, deck and alterations",
        ("registration_days", "requires_dry_deck", "forbids_alterations"),
    ),
    (
        "Passing it on",
        ("is_transferable", "transfer_notice_days", "transfer_needs_inspection"),
    ),
    (
        "What it says",
        (
            "covered_owner",
            "covered",
            "exclusions",
            "remedy",
            "not_paid",
            "duties",
            "duties_reason",
            "claim_procedure",
            "who_may_work",
            "dispute_mechanism",
            "implied_limit",
            "consequential_limit",
            "rights",
            "registration",
        ),
    ),
)


def _count(label: str, *, low: int = 0, high: int = 3660) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=low, max_value=high)


def _optional(label: str, says: str, *, low: int, high: int) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, min_value=low, max_value=high, required=False, help_text=says
    )


def _tick(label: str) -> forms.BooleanField:
    return forms.BooleanField(label=label, required=False)


def _text(label: str, says: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        required=False,
        max_length=TEXT_LENGTH,
        help_text=says,
        widget=forms.Textarea(attrs={"rows": 4}),
    )


class EditionForm(forms.Form):
    """An edition as its author writes it."""

    code = forms.CharField(
        label="Code", max_length=40, help_text="The office's short key, for example L-4"
    )
    title = forms.CharField(label="Printed title", max_length=200)
    designation = forms.ChoiceField(label="Full or limited", choices=_DESIGNATIONS)
    owner_kind = forms.ChoiceField(label="Held by a", choices=OwnerKind.choices)
    term_months = _optional(
        "Term in months", "Empty: for the life named below", low=1, high=1200
    )
    life_of = forms.CharField(
        label="Whose life", max_length=60, required=False, initial="coach"
    )
    anchor = forms.ChoiceField(label="Due dates count from", choices=_ANCHORS)
    interval_months = _count("Months between inspections", low=1, high=600)
    window_days = _count("Days the window opens before")
    grace_days = _count("Days of grace after")
    reinstatement_days = _count("Days to reinstate after grace")
    serious_cure_days = _count("Days to cure a serious finding")
    inspections_free = _tick("Inspections cost the owner nothing")
    accepts_other_shops = _tick("Another shop's passing inspection counts")
    registration_days = _count("Days to register after completion")
    requires_dry_deck = _tick("The deck has to be dry")
    forbids_alterations = _tick("Nothing may be fitted without approval")
    is_transferable = forms.BooleanField(
        label="Passes to a later holder", required=False, initial=True
    )
    transfer_notice_days = _optional(
        "Days to tell us of a sale", "Empty: no limit", low=0, high=3660
    )
    transfer_needs_inspection = _tick("Passes on only after an inspection")
    covered_owner = _text("Who is covered", "Needed when it does not pass on")
    covered = _text("What is covered")
    exclusions = _text("What is not covered")
    remedy = _text("What we do and pay for")
    not_paid = _text("What we do not pay for")
    duties = _text("What the owner does")
    duties_reason = _text("Why these duties are needed")
    claim_procedure = _text("How to claim, step by step")
    who_may_work = _text("Who may do covered work")
    dispute_mechanism = _text("If we do not agree")
    implied_limit = _text(
        "Limit of implied warranties",
        f"Empty: none. With a limit, end with: “{IMPLIED_LIMIT_SENTENCE}”",
    )
    consequential_limit = _text(
        "Limit of incidental or consequential damages",
        f"Empty: none. With a limit, end with: “{CONSEQUENTIAL_LIMIT_SENTENCE}”",
    )
    rights = _text("Your rights", f"It has to say: “{RIGHTS_SENTENCE}”")
    registration = _text("Registration")

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        if self.is_bound:
            for name in self.errors:
                if name in self.fields:
                    self.fields[name].widget.attrs["aria-invalid"] = "true"

    @property
    def groups(self) -> list[tuple[str, list[forms.BoundField]]]:
        """The fields under their headings."""
        return [(title, [self[name] for name in names]) for title, names in GROUPS]


def written(edition: Edition) -> dict[str, object]:
    """Return what an edition's form shows."""
    return {name: getattr(edition, name) for name in EditionForm.base_fields}


FRESH: Final[dict[str, object]] = {
    "interval_months": 12,
    "window_days": 60,
    "grace_days": 60,
    "reinstatement_days": 180,
    "registration_days": 30,
    "serious_cure_days": 30,
    "rights": RIGHTS_SENTENCE,
    "is_transferable": True,
    "life_of": "coach",
}
