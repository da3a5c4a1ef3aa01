"""A phone's saved queue: brought as a file when nothing could be sent."""

from __future__ import annotations

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from fleet.actions.field_queue import FILE_BYTES_MAX, take_queue_file
from fleet.errors import DomainError
from fleet.pages.field_review.access import OFFICE, only_for


class QueueFileForm(forms.Form):
    """The file that a phone saved."""

    file = forms.FileField(
        label="File from the phone",
        widget=forms.ClearableFileInput(attrs={"accept": ".json,application/json"}),
    )


@only_for(OFFICE)
def queue_file(request: HttpRequest) -> HttpResponse:
    """Take in a phone's file, and tell item by item what became of it."""
    form = QueueFileForm(request.POST or None, request.FILES or None)
    context: dict[str, object] = {"form": form, "mb_max": FILE_BYTES_MAX // 1024**2}
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        try:
            context["taken"] = take_queue_file(
                file=file,
                size_bytes=file.size,
                by=request.user,
                now=timezone.now(),
            )
        except DomainError as refusal:
            form.add_error("file", refusal.message)
    status = 422 if form.errors else 200
    return render(request, "field_review/queue_file.html", context, status=status)
