"""What people fill in about a claim."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django import forms

from warranty.models import DoubtWord
from warranty.rules.cause import Cause
from warranty.rules.claim import ClaimStatus
from warranty.rules.clause import Verdict
from warranty.rules.decision import Answer, Outcome, Reason
from warranty.rules.explain import ClauseResult

CENTS = 100
TEXT_LENGTH = 4000
OUTCOMES = [
    (Outcome.APPROVED.value, "Approve"),
    (Outcome.IN_PART.value, "Approve in part"),
    (Outcome.DECLINED.value, "Decline"),
]
CAUSES = [
    (Cause.UNKNOWN.value, "not found yet"),
    (Cause.FILM.value, "film: thin, missed or worn"),
    (Cause.DETAIL.value, "detail: flashing or fastener"),
    (Cause.ADHESION.value, "adhesion: lift or blister"),
    (Cause.SUBSTRATE.value, "substrate: soft or moved"),
    (Cause.IMPACT.value, "impact: branch, hail, strike"),
    (Cause.ALTERATION.value, "alteration: fitted after"),
    (Cause.NOT_ROOF.value, "not the roof"),
    (Cause.CONDENSATION.value, "condensation"),
]


class ClaimListForm(forms.Form):
    """Which claims are listed."""

    status = forms.ChoiceField(
        label="Where it stands",
        required=False,
        choices=[
            ("", "anywhere"),
            (ClaimStatus.REPORTED.value, "waiting for an answer"),
            (ClaimStatus.DECIDED.value, "decided"),
            (ClaimStatus.REMEDIED.value, "remedied"),
            (ClaimStatus.CLOSED.value, "closed"),
            (ClaimStatus.WITHDRAWN.value, "withdrawn"),
        ],
    )

    def asked(self) -> str:
        """Return the status asked for; what is wrong asks for none."""
        self.is_valid()
        return str(self.cleaned_data.get("status", ""))


@dataclass(frozen=True, slots=True, kw_only=True)
class ClauseFields:
    """The two fields of one clause beside its result."""

    result: ClauseResult
    cite: forms.BoundField | None  # None: nothing rests on a clause that is unknown
    reason: forms.BoundField | None


class DecisionForm(forms.Form):
    """An answer to a claim, with a reason per clause cited."""

    outcome = forms.ChoiceField(
        label="Answer", choices=OUTCOMES, widget=forms.RadioSelect
    )
    approved = forms.DecimalField(
        label="Most that is paid",
        max_digits=10,
        decimal_places=2,
        min_value=0,
        help_text="As in 420.00. Zero when the claim is declined.",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )
    cause = forms.ChoiceField(label="What let the water in", choices=CAUSES)
    seen = forms.CharField(widget=forms.HiddenInput)

    def __init__(
        self,
        *args: object,
        results: Sequence[ClauseResult],
        seen: str,
        estimate_cents: int | None = None,
        cause: Cause = Cause.UNKNOWN,
        **kwargs: object,
    ) -> None:
        estimate = Decimal(estimate_cents or 0) / CENTS
        first = {"seen": seen, "approved": f"{estimate:.2f}", "cause": cause.value}
        super().__init__(*args, label_suffix="", initial=first, **kwargs)  # type: ignore[arg-type]  # a form's own
        self.results = results
        has_gap = any(r.verdict is Verdict.NOT_MET for r in results)
        for result in results:
            if result.verdict is Verdict.UNKNOWN:
                continue
            name = result.clause.value
            self.fields[f"cite_{name}"] = forms.BooleanField(
                label=f"Cite clause {result.number}",
                required=False,
                initial=not has_gap or result.verdict is Verdict.NOT_MET,
            )
            self.fields[f"reason_{name}"] = forms.CharField(
                label=f"Reason for clause {result.number}",
                required=False,
                max_length=TEXT_LENGTH,
                initial=result.because,
                widget=forms.Textarea(attrs={"rows": 2}),
            )

    def clauses(self) -> Iterator[ClauseFields]:
        """Yield each clause with its fields, in the edition's order."""
        for result in self.results:
            name = result.clause.value
            known = f"cite_{name}" in self.fields
            yield ClauseFields(
                result=result,
                cite=self[f"cite_{name}"] if known else None,
                reason=self[f"reason_{name}"] if known else None,
            )

    def answer(self) -> Answer:
        """Return what was decided; the form is valid."""
        told = self.cleaned_data
        return Answer(
            outcome=Outcome(told["outcome"]),
            approved_cents=int(told["approved"] * CENTS),
            cause=Cause(told["cause"]),
            reasons=tuple(
                Reason(clause=each.clause, reason=told[f"reason_{each.clause.value}"])
                for each in self.results
                if told.get(f"cite_{each.clause.value}")
            ),
        )


def _money(label: str) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        max_digits=10,
        decimal_places=2,
        min_value=0,
        initial="0.00",
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


class RemedyForm(forms.Form):
    """What was done and what it cost."""

    done_on = forms.DateField(
        label="Done on", widget=forms.DateInput(attrs={"type": "date"})
    )
    part = _money("Parts")
    labour = _money("Labour")
    interior = _money("Interior")
    note = forms.CharField(
        label="What was done",
        required=False,
        max_length=TEXT_LENGTH,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def cents(self, name: str) -> int:
        """Return one of the costs in cents; the form is valid."""
        return int(self.cleaned_data[name] * CENTS)


class DoubtForm(forms.Form):
    """A word on a doubt."""

    key = forms.CharField(max_length=64, widget=forms.HiddenInput)
    word = forms.ChoiceField(choices=DoubtWord.choices)
    why = forms.CharField(max_length=TEXT_LENGTH)
