"""The office's forms about one roof's promise: inspections, waivers, registration."""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.civil import office_day
from fleet.errors import DomainError
from fleet.models import Roof, Visit
from fleet.selectors.lists import facts_visible_to
from fleet.selectors.records import roof_records
from fleet.selectors.scopes import roofs_visible_to, scope_of
from warranty.actions.approvals import (
    approve_visit,
    record_other_shop,
    withdraw_approval,
)
from warranty.actions.claim_intake import take_claim
from warranty.actions.claims import claim_report
from warranty.actions.doubts import answer_doubt
from warranty.actions.promises import register, waive
from warranty.actions.receipts import note_receipt
from warranty.models import VisitApproval, Waiver
from warranty.pages.access import form, office_of, written_page
from warranty.pages.claim_forms import DoubtForm
from warranty.pages.promise_forms import (
    ClaimReportForm,
    OfficeForm,
    OtherShopForm,
    ReceiptForm,
    RegistrationForm,
    WaiverForm,
    WhyForm,
    cents,
)
from warranty.selectors.registration_links import registration_of
from warranty.selectors.terms import edition_promised

TEMPLATE = "warranty/promise/form.html"


def roof_of(request: HttpRequest, uuid: UUID) -> Roof:
    """Return a roof that the caller may see, or answer 404."""
    return get_object_or_404(roofs_visible_to(scope_of(request.user)), uuid=uuid)


def filled_in(
    request: HttpRequest,
    asked: OfficeForm,
    do: Callable[[dict[str, object]], str],
    *,
    roof: Roof,
    **shown: object,
) -> HttpResponse:
    """Show a form, or do what it asks and lead back to the roof.

    ``do`` takes the form's values and returns what was done, in a sentence.
    """
    status = 200
    if request.method == "POST":
        status = 400
        if asked.is_valid():
            try:
                messages.success(request, do(asked.cleaned_data))
            except DomainError as error:
                asked.tell(error)
                status = error.http_status
            else:
                return redirect("roof", uuid=roof.uuid)
    context = {"form": asked, "roof": roof, **shown}
    return render(request, TEMPLATE, context, status=status)


@written_page
def other_shop(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Enter an inspection that another shop made."""
    office_of(request)
    roof, now = roof_of(request, uuid), timezone.now()
    edition = edition_promised(roof.pk)
    accepted = edition is not None and edition.accepts_other_shops

    def do(told: dict[str, object]) -> str:
        record_other_shop(roof=roof, by=request.user, now=now, **told)  # type: ignore[arg-type]  # the form's fields
        return (
            "The inspection is recorded; the edition accepts other shops."
            if accepted
            else "The inspection is recorded. It counts once the office approves it."
        )

    return filled_in(
        request,
        OtherShopForm(request.POST or None),
        do,
        roof=roof,
        title="An inspection by another shop",
        intro="This edition accepts other shops' inspections."
        if accepted
        else "This edition counts our own inspections; another shop's satisfies a due "
        "date only once the office approves it, which is done on the roof's page.",
        submit="Record the inspection",
    )


@written_page
def approve(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Approve another shop's inspection, for a reason."""
    scope = office_of(request)
    visit = get_object_or_404(facts_visible_to(Visit, scope), uuid=uuid)

    def do(told: dict[str, object]) -> str:
        approve_visit(
            visit=visit,  # type: ignore[arg-type]  # a Visit
            why=str(told["why"]),
            by=request.user,  # type: ignore[arg-type]  # signed in
            now=timezone.now(),
        )
        return f"Visit {visit.ref} is approved: it counts on its own day."

    return filled_in(
        request,
        WhyForm(request.POST or None),
        do,
        roof=visit.roof,
        title=f"Approve visit {visit.ref} by {visit.shop}",
        intro="The approval stands in the ledger with your name and reason. A claim "
        "that was decided before it keeps what was known then.",
        submit="Approve the inspection",
    )


@written_page
def withdraw(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Withdraw an approval, for a reason."""
    scope = office_of(request)
    approval = get_object_or_404(facts_visible_to(VisitApproval, scope), uuid=uuid)

    def do(told: dict[str, object]) -> str:
        withdraw_approval(
            approval=approval,  # type: ignore[arg-type]  # an approval
            why=str(told["why"]),
            by=request.user,  # type: ignore[arg-type]  # signed in
            now=timezone.now(),
        )
        return f"The approval of visit {approval.visit.ref} is withdrawn."

    return filled_in(
        request,
        WhyForm(request.POST or None),
        do,
        roof=approval.roof,
        title=f"Withdraw the approval of visit {approval.visit.ref}",
        submit="Withdraw the approval",
    )


@written_page
def waiver(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Waive one clause for a time."""
    office_of(request)
    roof = roof_of(request, uuid)

    def do(told: dict[str, object]) -> str:
        waive(roof=roof, by=request.user, now=timezone.now(), **told)  # type: ignore[arg-type]  # the form's fields
        return "The clause is waived."

    return filled_in(
        request,
        WaiverForm(request.POST or None),
        do,
        roof=roof,
        title="Waive a clause",
        intro="A waived clause is met, and says so. It moves no due date, never covers "
        "the coach or the term, and is not used for a loss noticed before it unless a "
        "second person says so.",
        submit="Waive the clause",
    )


@form
def second_waiver(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Say so as a second person: the waiver then counts for earlier losses too."""
    scope = office_of(request)
    first = get_object_or_404(facts_visible_to(Waiver, scope), uuid=uuid)
    waive(
        roof=first.roof,
        clause=first.clause,
        from_on=first.from_on,
        until_on=first.until_on,
        why=str(first.why),
        supersedes=first.uuid,
        seconded_by=first.recorded_by,
        by=request.user,  # type: ignore[arg-type]  # signed in
        now=timezone.now(),
    )
    messages.success(request, "Two people stand behind the waiver now.")
    return redirect("roof", uuid=first.roof.uuid)


@written_page
def receipt(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Note an invoice, or the fee paid for an inspection."""
    office_of(request)
    roof, now = roof_of(request, uuid), timezone.now()
    records = roof_records([roof.pk], known_at=now)[roof.pk]
    visits = {str(visit.uuid): visit for visit in reversed(records.visits)}

    def do(told: dict[str, object]) -> str:
        note_receipt(
            roof=roof,
            visit=visits.get(str(told["visit"])),
            happened_on=told["happened_on"],  # type: ignore[arg-type]  # a day
            invoice_no=str(told["invoice_no"]),
            paid_cents=cents(told["paid"]),  # type: ignore[arg-type]  # an amount
            by=request.user,  # type: ignore[arg-type]  # signed in
            now=now,
        )
        return "The receipt is noted."

    named = [
        (key, f"visit {visit.ref}, {visit.get_kind_display()}, {visit.happened_on}")
        for key, visit in visits.items()
    ]
    return filled_in(
        request,
        ReceiptForm(
            request.POST or None,
            visits=named,
            initial={"happened_on": office_day(now)},
        ),
        do,
        roof=roof,
        title="Note an invoice or a fee",
        submit="Note it",
    )


@written_page
def registration(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Record that the owner registered the coverage."""
    office_of(request)
    roof, now = roof_of(request, uuid), timezone.now()
    known = registration_of(roof.pk)

    def do(told: dict[str, object]) -> str:
        register(
            roof=roof,
            registered_on=told["registered_on"],  # type: ignore[arg-type]  # a day
            supersedes=known.uuid if known else None,
            by=request.user,  # type: ignore[arg-type]  # signed in
            now=now,
        )
        return "The registration is recorded."

    intro = "The day on which the owner's card or call reached us."
    if known:
        intro = f"Registered on {known.registered_on}. Another day corrects the record."
    return filled_in(
        request,
        RegistrationForm(
            request.POST or None, initial={"registered_on": office_day(now)}
        ),
        do,
        roof=roof,
        title="Register the coverage",
        intro=intro,
        submit="Record the registration",
    )


@written_page
def report(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Report a loss: the office, or who holds the coach."""
    scope = scope_of(request.user)
    roof, now = roof_of(request, uuid), timezone.now()
    records = roof_records([roof.pk], known_at=now)[roof.pk]

    def do(told: dict[str, object]) -> str:
        claim, _ = take_claim(
            roof=roof,
            ref="",
            report=claim_report(
                noticed_on=told["noticed_on"],  # type: ignore[arg-type]  # a day
                reported_on=told["reported_on"],  # type: ignore[arg-type]  # a day
                description=str(told["description"]),
                estimate_cents=cents(told["estimate"]),  # type: ignore[arg-type]  # an amount
                penetration_label=str(told["penetration_label"]),
            ),
            by=request.user,  # type: ignore[arg-type]  # signed in
            now=now,
            scope=scope,
        )
        return f"Claim {claim.ref} is reported. Its clock runs."

    return filled_in(
        request,
        ClaimReportForm(
            request.POST or None,
            places=[row.label for row in records.penetrations],
            today=office_day(now),
        ),
        do,
        roof=roof,
        title="Report a leak",
        intro="First protect: cover the place, no ladder in rain or wind, power off "
        "where water meets wiring, and dry within a day or two. Local codes and "
        "licensed practice come first.",
        submit="Report it",
    )


@form
def doubt(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Answer or dismiss a question about the roof's records."""
    office_of(request)
    roof = roof_of(request, uuid)
    filled = DoubtForm(request.POST)
    if not filled.is_valid():
        messages.error(request, "Say what the answer is, or why it is dismissed.")
        return redirect("roof", uuid=uuid)
    answer_doubt(
        roof=roof,
        by=request.user,  # type: ignore[arg-type]  # signed in
        now=timezone.now(),
        **filled.cleaned_data,
    )
    messages.success(request, "The answer is recorded beside the question.")
    return redirect("roof", uuid=uuid)
