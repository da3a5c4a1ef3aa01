"""The list of claims, the page on which one is decided, and its letter."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.actions.errors import InvalidValue
from fleet.civil import office_day
from fleet.errors import DomainError, NotAllowed, NotFound
from fleet.scope import Scope
from fleet.selectors.scopes import scope_of
from warranty.actions import claim_moves, decisions
from warranty.actions.doubts import answer_doubt
from warranty.actions.remedies import Cost, record_remedy
from warranty.models import Claim, Proposal
from warranty.pages.access import form, page
from warranty.pages.claim_forms import (
    ClaimListForm,
    DecisionForm,
    DoubtForm,
    RemedyForm,
)
from warranty.rules.claim import Move
from warranty.selectors.claim_page import ClaimPage, claim_list, claim_page
from warranty.selectors.claims import claims_visible_to
from warranty.selectors.decisions import decision_of, letter_of

MOVES: dict[str, Callable[..., Claim]] = {
    "close": claim_moves.close_claim,
    "withdraw": claim_moves.withdraw_claim,
    "reopen": claim_moves.reopen_claim,
    "wait": claim_moves.wait_for_owner,
    "resume": claim_moves.resume_claim,
}
DONE = {
    "close": "The claim is closed.",
    "withdraw": "The claim is withdrawn.",
    "reopen": "The claim is open again; its clock starts anew.",
    "wait": "The clock stands until the owner has answered.",
    "resume": "The clock runs on.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing that can be done with a claim besides deciding it."""

    name: str
    label: str
    ask: str
    needs_reason: bool = True

    @property
    def address(self) -> str:
        """The name of the address that takes it."""
        return f"claim-{self.name}"


WAIT = Step(name="wait", label="Stop the clock", ask="What do we wait for?")
RESUME = Step(
    name="resume",
    label="Let the clock run on",
    ask="What did the owner answer?",
    needs_reason=False,
)
STEPS = {
    Move.CLOSE: Step(
        name="close", label="Close the claim", ask="Remark", needs_reason=False
    ),
    Move.WITHDRAW: Step(
        name="withdraw", label="Withdraw the claim", ask="Who withdraws it, and why?"
    ),
    Move.REOPEN: Step(name="reopen", label="Reopen the claim", ask="What is new?"),
}


def steps_of(seen: ClaimPage) -> list[Step]:
    """Return what can be done with a claim as it is."""
    steps = [STEPS[each] for each in seen.may if each in STEPS]
    if seen.clock is not None:
        steps.insert(0, RESUME if seen.clock.waiting_since else WAIT)
    return steps


# The holder of a claim may take it back; everything else is the office's.
OWNERS_MOVES = frozenset({"withdraw"})


@page
def claims(request: HttpRequest) -> HttpResponse:
    """Show the claims, those first whose time to answer ends first."""
    now = timezone.now()
    asked = ClaimListForm(request.GET, label_suffix="")
    number = request.GET.get("page", "1")
    found = claim_list(
        scope_of(request.user),
        status=asked.asked(),
        page=int(number) if number.isdecimal() and len(number) < 6 else 1,
        today=office_day(now),
        known_at=now,
    )
    context = {"form": asked, "found": found, "is_asked": bool(request.GET)}
    return render(request, "warranty/claims/list.html", context)


@page
def claim(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show one claim: the clauses on its day, what is missing, what was decided."""
    return _shown(request, _claim(request, uuid))


@page
def letter(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Show the letter to the owner, ready to print."""
    made = decision_of(_claim(request, uuid))
    told = letter_of(made) if made else None
    if told is None:
        raise NotFound("There is no letter: the claim is not decided, or was erased.")
    context = {"claim": made.claim if made else None, "letter": told}
    return render(request, "warranty/claims/letter.html", context)


@form
def decide(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Take the decision form; what is refused is shown beside what was typed."""
    found, scope = _claim(request, uuid), _office(request)
    now = timezone.now()
    seen = claim_page(found, scope, known_at=now)
    filled = DecisionForm(request.POST, results=seen.results, seen=seen.seen)
    if not filled.is_valid():
        return _shown(request, found, filled=filled, status=400)
    try:
        given = decisions.decide_claim(
            claim=found,
            answer=filled.answer(),
            by=request.user,  # type: ignore[arg-type]  # signed in
            now=now,
            seen=filled.cleaned_data["seen"],
        )
    except DomainError as error:
        return _shown(
            request, found, filled=filled, said=error.message, status=error.http_status
        )
    is_waiting = isinstance(given, Proposal)
    messages.success(
        request,
        "Proposed. A second person has to approve it before it counts."
        if is_waiting
        else "Decided. The letter to the owner is drafted below.",
    )
    return redirect("claim", uuid=uuid)


@form
def second(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Approve what another person proposed."""
    found = _claim(request, uuid)
    _office(request)
    decisions.second_decision(
        claim=found,
        by=request.user,  # type: ignore[arg-type]  # signed in
        now=timezone.now(),
        proposal=request.POST.get("proposal", ""),
    )
    messages.success(request, "Approved. The letter to the owner is drafted below.")
    return redirect("claim", uuid=uuid)


@form
def remedy(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Record what was done and what it cost."""
    found = _claim(request, uuid)
    _office(request)
    filled = RemedyForm(request.POST, label_suffix="")
    if not filled.is_valid():
        return _shown(request, found, remedy=filled, status=400)
    try:
        record_remedy(
            claim=found,
            cost=Cost(
                part_cents=filled.cents("part"),
                labour_cents=filled.cents("labour"),
                interior_cents=filled.cents("interior"),
            ),
            done_on=filled.cleaned_data["done_on"],
            note=filled.cleaned_data["note"],
            by=request.user,  # type: ignore[arg-type]  # signed in
            now=timezone.now(),
        )
    except DomainError as error:
        return _shown(
            request, found, remedy=filled, said=error.message, status=error.http_status
        )
    messages.success(request, "The remedy is recorded.")
    return redirect("claim", uuid=uuid)


@form
def move(request: HttpRequest, uuid: UUID, name: str) -> HttpResponse:
    """Close, withdraw or reopen the claim, or stop its clock and let it run."""
    found = _claim(request, uuid)
    if name not in OWNERS_MOVES:
        _office(request)
    MOVES[name](
        claim=found,
        by=request.user,
        now=timezone.now(),
        why=request.POST.get("why", "")[:4000],
    )
    messages.success(request, DONE[name])
    return redirect("claim", uuid=uuid)


@form
def doubt(request: HttpRequest, uuid: UUID) -> HttpResponse:
    """Answer or dismiss a doubt about the roof's records."""
    found = _claim(request, uuid)
    _office(request)
    filled = DoubtForm(request.POST)
    if not filled.is_valid():
        raise InvalidValue("why", "Say what the answer is, or why it is dismissed.")
    answer_doubt(
        roof=found.roof,
        by=request.user,  # type: ignore[arg-type]  # signed in
        now=timezone.now(),
        **filled.cleaned_data,
    )
    messages.success(request, "The answer is recorded beside the question.")
    return redirect("claim", uuid=uuid)


def _claim(request: HttpRequest, uuid: UUID) -> Claim:
    return get_object_or_404(claims_visible_to(scope_of(request.user)), uuid=uuid)


def _office(request: HttpRequest) -> Scope:
    scope = scope_of(request.user)
    if not scope.may_run_office:
        raise NotAllowed("Only the service office does this. Ask the office.")
    return scope


def _shown(
    request: HttpRequest,
    found: Claim,
    *,
    filled: DecisionForm | None = None,
    remedy: RemedyForm | None = None,
    said: str = "",
    status: int = 200,
) -> HttpResponse:
    now = timezone.now()
    scope = scope_of(request.user)
    # Somebody may have moved it since it was read.
    found = claims_visible_to(scope).get(pk=found.pk)
    seen = claim_page(found, scope, known_at=now)
    made = seen.decision
    context = {
        "page": seen,
        "claim": found,
        "said": said,
        "is_office": scope.may_run_office,
        "form": filled or _empty(seen),
        "remedy_form": remedy
        or RemedyForm(label_suffix="", initial={"done_on": office_day(now)}),
        "letter": letter_of(made) if made and not seen.is_open else None,
        "steps": steps_of(seen),
    }
    return render(request, "warranty/claims/show.html", context, status=status)


def _empty(seen: ClaimPage) -> DecisionForm:
    return DecisionForm(
        results=seen.results,
        seen=seen.seen,
        estimate_cents=seen.report.estimate_cents if seen.report else None,
        cause=seen.cause,
    )
