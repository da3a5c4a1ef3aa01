"""What people may ask of the pages, by their address."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django import forms
from django.conf import settings
from django.utils import timezone

from warranty.documents import wording
from warranty.rules.calendar import add_months
from warranty.rules.clause import Standing
from warranty.selectors.roof_list import NO_PROMISE, OVERDUE, Order, RoofQuery

_MONTHS_AHEAD = 18
_MONTHS_BACK = 2
_FIRST_DAY = date(1980, 1, 1)
_LAST_DAY = date(2150, 12, 31)


class RoofListForm(forms.Form):
    """Search and filters of the roof list."""

    q = forms.CharField(
        label="Coach no., VIN, owner or town",
        required=False,
        max_length=80,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    standing = forms.ChoiceField(label="Standing", required=False)
    due = forms.ChoiceField(label="Next inspection due", required=False)
    sort = forms.ChoiceField(
        label="Sorted by",
        required=False,
        choices=[(Order.COACH, "coach no."), (Order.DUE, "next due date")],
    )

    def __init__(self, *args: object, today: date, **kwargs: object) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        words = [(s.value, wording.standing_word(s.value)) for s in Standing]
        self.fields["standing"].choices = [
            ("", "any"),
            *words,
            (NO_PROMISE, "no promise made"),
        ]
        self.fields["due"].choices = [
            ("", "at any time"),
            (OVERDUE, "overdue today"),
            *_months_around(today),
        ]

    def query(self, *, page: int) -> RoofQuery:
        """Return what was asked; a field with an error asks nothing."""
        self.is_valid()
        asked = self.cleaned_data
        return RoofQuery(
            words=asked.get("q", ""),
            standing=asked.get("standing", ""),
            due=asked.get("due", ""),
            order=Order(asked.get("sort") or Order.COACH),
            page=page,
        )


def _months_around(today: date) -> list[tuple[str, str]]:
    first = today.replace(day=1)
    months = (
        add_months(first, step) for step in range(-_MONTHS_BACK, _MONTHS_AHEAD + 1)
    )
    return [(f"{m:%Y-%m}", wording.on(m).split(" ", 1)[1]) for m in months]


class OfficeDateTimeField(forms.DateTimeField):
    """A moment typed in the office's own time."""

    def to_python(self, value: object) -> datetime | None:
        with timezone.override(ZoneInfo(settings.OFFICE_TIME_ZONE)):
            return super().to_python(value)


class MomentForm(forms.Form):
    """Which day is asked, and by when it had to be recorded."""

    as_of = forms.DateField(
        label="As of the day",
        required=False,
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="What was true on this day. Empty: today.",
    )
    known_at = OfficeDateTimeField(
        label="As known at",
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
        help_text="Only what was recorded by then, office time. Empty: now.",
    )

    def clean_as_of(self) -> date | None:
        """Keep the day within the years that a roof lives in."""
        day: date | None = self.cleaned_data["as_of"]
        if day is not None and not _FIRST_DAY <= day <= _LAST_DAY:
            raise forms.ValidationError(
                f"Ask for a day from {_FIRST_DAY.year} to {_LAST_DAY.year}."
            )
        return day

    def asked(self, *, today: date, now: datetime) -> tuple[date, datetime]:
        """Return the day and the moment; what is empty or wrong is today and now."""
        self.is_valid()
        day = self.cleaned_data.get("as_of") or today
        known = self.cleaned_data.get("known_at") or now
        return day, min(known, now)
