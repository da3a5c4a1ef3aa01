"""What the office fills in about one promise."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django import forms

from fleet.errors import DomainError
from fleet.models import ContactRole, OwnerKind, VisitKind, VisitResult
from warranty.documents import wording
from warranty.rules.clause import NEVER_WAIVED, Clause
from warranty.selectors.packet.facts import CLAUSE_TITLES

CENTS = 100
TEXT_LENGTH = 2000
WAIVABLE = [
    (clause.value, CLAUSE_TITLES[clause.value])
    for clause in Clause
    if clause not in NEVER_WAIVED
]


class DayField(forms.DateField):
    """A civil date, picked or typed."""

    def __init__(self, **kwargs: object) -> None:
        super().__init__(
            widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}), **kwargs
        )


def words(
    label: str, *, rows: int = 3, required: bool = True, hint: str = ""
) -> forms.CharField:
    """Return a field of several lines."""
    return forms.CharField(
        label=label,
        required=required,
        max_length=TEXT_LENGTH,
        help_text=hint,
        widget=forms.Textarea(attrs={"rows": rows}),
    )


def money(label: str, *, required: bool = False, hint: str = "") -> forms.DecimalField:
    """Return a field of an amount with its cents."""
    return forms.DecimalField(
        label=label,
        required=required,
        max_digits=10,
        decimal_places=2,
        min_value=0,
        help_text=hint,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


def cents(amount: Decimal | None) -> int | None:
    """Return an amount in whole cents."""
    return None if amount is None else int(amount * CENTS)


class OfficeForm(forms.Form):
    """A form whose labels need no colon, and that tells what an action refused."""

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, label_suffix="", **kwargs)

    def tell(self, error: DomainError) -> None:
        """Show a refusal at its field, or above the form."""
        field = str(error.detail.get("field", ""))
        self.add_error(field if field in self.fields else None, error.message)


class OtherShopForm(OfficeForm):
    """An inspection that another shop made, from its report."""

    shop = forms.CharField(label="Shop", max_length=120)
    happened_on = DayField(label="Inspected on")
    kind = forms.ChoiceField(
        label="Kind",
        choices=[
            (VisitKind.INSPECTION.value, VisitKind.INSPECTION.label),
            (VisitKind.REINSTATEMENT.value, VisitKind.REINSTATEMENT.label),
        ],
    )
    result = forms.ChoiceField(
        label="Result",
        choices=[
            (VisitResult.PASS.value, VisitResult.PASS.label),
            (VisitResult.FAIL.value, VisitResult.FAIL.label),
        ],
    )
    ref = forms.CharField(
        label="Reference", max_length=40, help_text="Yours for this report; used once."
    )
    note = words("What the report says", required=False)


class WhyForm(OfficeForm):
    """A reason."""

    why = words("Why")


class WaiverForm(OfficeForm):
    """A waiver of one clause."""

    clause = forms.ChoiceField(label="Clause", choices=WAIVABLE)
    from_on = DayField(label="From")
    until_on = DayField(label="Until", required=False, help_text="Empty: without end.")
    why = words("Why")


class ReceiptForm(OfficeForm):
    """An invoice of the roof, or the fee paid for one of its inspections."""

    visit = forms.ChoiceField(label="For", required=False)
    happened_on = DayField(label="Dated")
    invoice_no = forms.CharField(label="Invoice no.", max_length=40, required=False)
    paid = money("Paid, in dollars", hint="As in 95.00. Empty: only noted.")

    def __init__(
        self, *args: object, visits: list[tuple[str, str]], **kwargs: object
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["visit"].choices = [("", "the roof itself"), *visits]


class RegistrationForm(OfficeForm):
    """The day on which the owner registered."""

    registered_on = DayField(label="Registered on")


class RetireForm(OfficeForm):
    """The day from which the coach is off the road."""

    retired_on = DayField(
        label="Retired on", help_text="The promise ends on this day, for good."
    )


class ContactForm(OfficeForm):
    """Somebody to reach beside the owner."""

    role = forms.ChoiceField(label="Who they are", choices=ContactRole.choices)
    name = forms.CharField(label="Name", max_length=200)
    phone = forms.CharField(label="Telephone", max_length=32, required=False)
    email = forms.EmailField(label="E-mail", required=False)
    only_here = forms.BooleanField(
        label="About this coach only", required=False, initial=False
    )
    note = words("Note", rows=2, required=False)


class ClaimReportForm(OfficeForm):
    """A loss as it is reported."""

    noticed_on = DayField(label="Noticed on")
    reported_on = DayField(label="Reported on")
    description = words("What was noticed, and where")
    penetration_label = forms.ChoiceField(label="Nearest penetration", required=False)
    estimate = money("Estimate, in dollars", hint="Empty: none yet.")

    def __init__(
        self, *args: object, places: list[str], today: date, **kwargs: object
    ) -> None:
        super().__init__(*args, initial={"reported_on": today}, **kwargs)
        self.fields["penetration_label"].choices = [
            ("", "not known"),
            *((place, place) for place in places),
        ]


class SaleForm(OfficeForm):
    """A sale: who holds the coaches from which day, and when we were told."""

    holder_name = forms.CharField(label="New holder's name", max_length=200)
    holder_kind = forms.ChoiceField(
        label="Kind of holder",
        choices=[(kind.value, wording.readable(kind.label)) for kind in OwnerKind],
    )
    holder_phone = forms.CharField(label="Telephone", max_length=32, required=False)
    holder_email = forms.EmailField(label="E-mail", required=False)
    sold_on = DayField(label="Sold on")
    told_on = DayField(label="Notice came on")


class SignedForm(OfficeForm):
    """The day on which a sale away from the office was signed."""

    signed_on = DayField(label="Signed on")

    def clean_signed_on(self) -> date:
        """Keep the day within the years in which people sign."""
        day: date = self.cleaned_data["signed_on"]
        if not 1990 <= day.year <= 2149:
            raise forms.ValidationError("Ask for a day from 1990 to 2149.")
        return day
