"""Planned attendances: what technicians' phones take along."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.bookings import cancel_booking, plan_booking
from fleet.civil import office_day
from fleet.errors import DomainError
from fleet.models import VisitKind
from fleet.pages.field_review.access import OFFICE, only_for
from fleet.selectors.field_review import (
    newest_roof_of,
    planned_bookings,
    technicians_by_name,
)


class BookingForm(forms.Form):
    """One attendance to plan."""

    unit_no = forms.CharField(label="Coach no.", max_length=40)
    kind = forms.ChoiceField(label="Visit", choices=VisitKind.choices)
    planned_on = forms.DateField(
        label="Day", widget=forms.DateInput(attrs={"type": "date"})
    )
    window = forms.CharField(label="Time of day", max_length=60, required=False)
    technician = forms.ModelChoiceField(
        label="Technician",
        queryset=None,
        required=False,
        empty_label="nobody yet",
    )
    place = forms.CharField(label="Place", max_length=200, required=False)

    def __init__(self, *args: object, **kwargs: object) -> None:
        """Offer the technicians there are."""
        super().__init__(*args, **kwargs)
        self.fields["technician"].queryset = technicians_by_name()

    def clean_unit_no(self) -> str:
        """Keep the roof that a visit of this coach would be about."""
        unit_no: str = self.cleaned_data["unit_no"].strip()
        self.roof = newest_roof_of(unit_no)
        if self.roof is None:
            raise forms.ValidationError(
                "No coach with a roof has this number. Check it, or open the roof."
            )
        return unit_no

    def clean_planned_on(self) -> date:
        """Refuse a year that cannot be right."""
        day: date = self.cleaned_data["planned_on"]
        if not 2000 <= day.year <= 2199:
            raise forms.ValidationError("Check the year.")
        return day


@only_for(OFFICE)
def bookings(request: HttpRequest) -> HttpResponse:
    """Show what is planned, and plan one more."""
    form = BookingForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        plan_booking(
            roof=form.roof,
            by=request.user,
            now=timezone.now(),
            **{k: v for k, v in form.cleaned_data.items() if k != "unit_no"},
        )
        messages.success(request, "Planned.")
        return redirect("field-bookings")
    today = office_day(timezone.now())
    context = {"form": form, "bookings": planned_bookings(), "today": today}
    return render(request, "field_review/bookings.html", context)


@only_for(OFFICE)
def cancel(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Cancel one booking."""
    booking = get_object_or_404(planned_bookings(), uuid=uuid)
    version = request.POST.get("version", "")
    if request.method == "POST":
        try:
            cancel_booking(
                booking=booking,
                version=int(version) if version.isdecimal() else 0,
                by=request.user,
                now=timezone.now(),
            )
        except DomainError as refusal:
            messages.error(request, refusal.message)
        else:
            messages.success(request, "Cancelled.")
    return redirect("field-bookings")
