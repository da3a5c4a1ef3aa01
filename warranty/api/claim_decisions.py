"""What is done with a claim: decided, remedied, closed; its evidence and doubts."""

from __future__ import annotations

from dataclasses import asdict
from typing import ClassVar

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from fleet.api.base import RegisterViewSet, named
from fleet.api.caller import Permit
from fleet.api.shape import DayField, In, Out, PlainOut, word
from fleet.errors import NotFound
from fleet.models import Visit
from fleet.selectors.lists import facts_visible_to
from warranty.actions import claim_moves, decisions
from warranty.actions.doubts import answer_doubt
from warranty.actions.remedies import Cost, record_remedy
from warranty.api.claims import CENTS_MAX, DESCRIPTION_LENGTH, ClaimOut
from warranty.api.standings import CLAUSE_CHOICES, STANDING_CHOICES, VERDICT_CHOICES
from warranty.models import Claim, Decision, DoubtWord, Proposal, Remedy
from warranty.rules.cause import Cause
from warranty.rules.clause import Clause
from warranty.rules.decision import Answer, Outcome, Reason, read_reasons
from warranty.rules.doubts import Sign
from warranty.rules.evidence import Need
from warranty.selectors.claim_page import claim_page
from warranty.selectors.claims import claims_visible_to
from warranty.selectors.decisions import decision_of, letter_of
from warranty.selectors.doubts import doubts_of
from warranty.selectors.lists import reports_of

OUTCOME_CHOICES = [(each.value, each.value) for each in Outcome]
CAUSE_CHOICES = [(each.value, each.value) for each in Cause]
NEED_CHOICES = [(each.value, each.value) for each in Need]
SIGN_CHOICES = [(each.value, each.value) for each in Sign]


class ReasonIn(In):
    """One clause that a decision cites, and why."""

    clause = serializers.ChoiceField(CLAUSE_CHOICES)
    reason = word(DESCRIPTION_LENGTH, required=True)


class DecideIn(In):
    """An answer to a claim."""

    outcome = serializers.ChoiceField(OUTCOME_CHOICES)
    approved_cents = serializers.IntegerField(
        min_value=0, max_value=CENTS_MAX, help_text="Whole cents; 0 when declined."
    )
    cause = serializers.ChoiceField(CAUSE_CHOICES, required=False)
    reasons = ReasonIn(many=True)
    seen = word(64)


class SecondIn(In):
    """A second person's word on what another proposed."""

    proposal = serializers.UUIDField()


class WhyIn(In):
    """Why something is done."""

    why = word(DESCRIPTION_LENGTH, required=True)


class NoteIn(In):
    """A remark, if there is one."""

    why = word(DESCRIPTION_LENGTH)


class RemedyIn(In):
    """What was done and what it cost."""

    uuid = serializers.UUIDField(
        required=False, help_text="Made by the client; the same again is the same."
    )
    supersedes = serializers.UUIDField(
        required=False, help_text="The remedy that this one corrects."
    )
    part_cents = serializers.IntegerField(
        min_value=0, max_value=CENTS_MAX, required=False
    )
    labour_cents = serializers.IntegerField(
        min_value=0, max_value=CENTS_MAX, required=False
    )
    interior_cents = serializers.IntegerField(
        min_value=0, max_value=CENTS_MAX, required=False
    )
    done_on = DayField()
    visit = serializers.UUIDField(required=False)
    note = word(DESCRIPTION_LENGTH)


class DoubtAnswerIn(In):
    """A word on a doubt."""

    key = word(64, required=True)
    why = word(DESCRIPTION_LENGTH, required=True)
    word = serializers.ChoiceField(DoubtWord.choices)


class ReasonOut(PlainOut):
    """One cited clause."""

    clause = serializers.ChoiceField(CLAUSE_CHOICES)
    reason = serializers.CharField()


class LetterPartOut(PlainOut):
    """A heading, empty for none, and its paragraphs."""

    heading = serializers.CharField(allow_blank=True)
    paragraphs = serializers.ListField(child=serializers.CharField())


class LetterOut(PlainOut):
    """The letter to the owner, drafted from the clauses."""

    to = serializers.CharField(allow_blank=True)
    subject = serializers.CharField()
    dated = serializers.DateField()
    parts = LetterPartOut(many=True)
    closing = serializers.CharField()


class RemedyOut(Out):
    """What was done under a decision, and what it cost."""

    visit = serializers.UUIDField(source="visit.uuid", default=None, allow_null=True)
    note = serializers.SerializerMethodField()

    class Meta:
        model = Remedy
        fields = (
            "uuid",
            "supersedes",
            "part_cents",
            "labour_cents",
            "interior_cents",
            "total_cents",
            "done_on",
            "visit",
            "note",
            "recorded_at",
        )

    total_cents = serializers.IntegerField()

    def get_note(self, row: Remedy) -> str:
        """The remark, or an empty text."""
        return str(row.note) if row.note else ""


class DecisionOut(Out):
    """The decision that counts, or the proposal that waits for a second person."""

    is_proposal = serializers.SerializerMethodField()
    cause = serializers.ChoiceField(CAUSE_CHOICES)
    outcome = serializers.ChoiceField(OUTCOME_CHOICES)
    standing = serializers.SerializerMethodField()
    edition = serializers.SerializerMethodField()
    rule_version = serializers.SerializerMethodField()
    reasons = serializers.SerializerMethodField()
    decided_by = serializers.SerializerMethodField()
    seconded_by = serializers.SerializerMethodField()
    letter = serializers.SerializerMethodField()

    class Meta:
        model = Decision
        fields = (
            "uuid",
            "is_proposal",
            "round_no",
            "outcome",
            "approved_cents",
            "cause",
            "noticed_on",
            "standing",
            "edition",
            "rule_version",
            "reasons",
            "decided_by",
            "seconded_by",
            "recorded_at",
            "letter",
        )

    def get_is_proposal(self, row: Decision | Proposal) -> bool:
        """Whether it waits for a second person and decides nothing yet."""
        return isinstance(row, Proposal)

    @extend_schema_field(serializers.ChoiceField(STANDING_CHOICES, allow_null=True))
    def get_standing(self, row: Decision | Proposal) -> str | None:
        """What the promise was worth on the day the loss was noticed."""
        return row.standing if isinstance(row, Decision) else None

    def get_edition(self, row: Decision | Proposal) -> str:
        """The code of the edition it was judged by."""
        return row.edition.code if isinstance(row, Decision) else ""

    def get_rule_version(self, row: Decision | Proposal) -> str:
        """The version of the rules."""
        return row.rule_version if isinstance(row, Decision) else ""

    @extend_schema_field(ReasonOut(many=True))
    def get_reasons(self, row: Decision | Proposal) -> list[dict[str, str]]:
        """The clauses cited; empty once the texts are erased."""
        if not row.reasons.body:
            return []
        return [
            {"clause": each.clause.value, "reason": each.reason}
            for each in read_reasons(row.reasons.body)
        ]

    @extend_schema_field(serializers.CharField(allow_blank=True))
    def get_decided_by(self, row: Decision | Proposal) -> str:
        """Who decided; staff alone are told the person."""
        who = row.decided_by if isinstance(row, Decision) else row.recorded_by
        return str(who) if self.context["caller"].sees_everything else "the office"

    @extend_schema_field(serializers.CharField(allow_blank=True))
    def get_seconded_by(self, row: Decision | Proposal) -> str:
        """Who approved it as a second person, if anybody."""
        if not isinstance(row, Decision) or row.seconded_by is None:
            return ""
        staff = self.context["caller"].sees_everything
        return str(row.seconded_by) if staff else "the office"

    @extend_schema_field(LetterOut(allow_null=True))
    def get_letter(self, row: Decision | Proposal) -> dict[str, object] | None:
        """The letter; none for a proposal, and once its texts are erased."""
        told = letter_of(row) if isinstance(row, Decision) else None
        return asdict(told) if told else None


class EvidenceOut(PlainOut):
    """One piece of evidence, there or missing."""

    need = serializers.ChoiceField(NEED_CHOICES)
    clause = serializers.ChoiceField(CLAUSE_CHOICES, allow_null=True)
    is_there = serializers.BooleanField()
    what = serializers.CharField()
    records = serializers.ListField(child=serializers.CharField())


class ClauseOnTheDayOut(PlainOut):
    """One clause on the day the loss was noticed, as known now."""

    clause = serializers.ChoiceField(CLAUSE_CHOICES)
    number = serializers.CharField()
    verdict = serializers.ChoiceField(VERDICT_CHOICES)
    waived = serializers.BooleanField()
    because = serializers.CharField()
    cure = serializers.CharField(allow_blank=True)
    evidence = serializers.ListField(child=serializers.CharField())


class ClockOut(PlainOut):
    """The time to answer, in business days."""

    allowed_days = serializers.IntegerField()
    used_days = serializers.IntegerField()
    due_on = serializers.DateField(allow_null=True)
    waiting_since = serializers.DateField(allow_null=True)
    is_over = serializers.BooleanField()


class ClaimEvidenceOut(PlainOut):
    """What a claim is decided by: standing, clauses, evidence and clock."""

    standing = serializers.ChoiceField(STANDING_CHOICES, allow_null=True)
    seen = serializers.CharField(allow_blank=True)
    clauses = ClauseOnTheDayOut(many=True, source="results")
    evidence = EvidenceOut(many=True)
    clock = ClockOut(allow_null=True)


class DoubtOut(PlainOut):
    """One doubt: a question about the records, never a verdict."""

    sign = serializers.ChoiceField(SIGN_CHOICES, source="doubt.sign")
    key = serializers.CharField(source="doubt.key")
    question = serializers.CharField(source="doubt.question")
    records = serializers.ListField(
        child=serializers.CharField(), source="doubt.records"
    )
    word = serializers.ChoiceField(
        DoubtWord.choices, source="answer.word", default=None, allow_null=True
    )
    why = serializers.CharField(source="answer.why", default="", allow_blank=True)


class ClaimWorkViewSet(RegisterViewSet):
    """The work on one claim. A status changes through a named action alone."""

    serializer_class = ClaimOut
    noun = "claims"
    permits: ClassVar = {
        "decide": Permit.OFFICE,
        "second": Permit.OFFICE,
        "remedy": Permit.OFFICE,
        "close": Permit.OFFICE,
        "withdraw": Permit.TAKE_PART,
        "reopen": Permit.OFFICE,
        "wait": Permit.OFFICE,
        "resume": Permit.OFFICE,
        "doubts": Permit.STAFF,
        "answer_doubt": Permit.OFFICE,
    }
    bodies: ClassVar = {
        "decide": DecideIn,
        "second": SecondIn,
        "remedy": RemedyIn,
        "close": NoteIn,
        "withdraw": WhyIn,
        "reopen": WhyIn,
        "wait": WhyIn,
        "resume": NoteIn,
        "answer_doubt": DoubtAnswerIn,
    }
    answers: ClassVar = {
        "decide": {"201": DecisionOut, "202": DecisionOut},
        "second": {"201": DecisionOut},
        "remedy": {"201": RemedyOut, "200": RemedyOut},
        "evidence": ClaimEvidenceOut,
        "decision": DecisionOut,
        "doubts": {"200": DoubtOut(many=True)},
        "answer_doubt": {"200": DoubtOut(many=True)},
    }

    def get_queryset(self) -> QuerySet[Claim]:
        """Return the claims in the caller's scope."""
        return claims_visible_to(self.caller.scope)

    def decide(self, request: Request, uuid: object) -> Response:
        """Decide the claim; above the limit the answer waits for a second person."""
        body = self.body(request)
        reasons: list[dict[str, str]] = body["reasons"]  # type: ignore[assignment]  # shape checked
        answer = Answer(
            outcome=Outcome(str(body["outcome"])),
            reasons=tuple(
                Reason(clause=Clause(each["clause"]), reason=each["reason"])
                for each in reasons
            ),
            approved_cents=int(str(body["approved_cents"])),
            cause=Cause(str(body.get("cause") or Cause.UNKNOWN)),
        )
        given = decisions.decide_claim(
            claim=self._claim(),
            answer=answer,
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
            seen=str(body.get("seen", "")),
        )
        status = 202 if isinstance(given, Proposal) else 201
        return self._told(DecisionOut, given, status)

    def second(self, request: Request, uuid: object) -> Response:
        """Approve as a second person what another proposed."""
        given = decisions.second_decision(
            claim=self._claim(),
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
            proposal=str(self.body(request)["proposal"]),
        )
        return self._told(DecisionOut, given, 201)

    def remedy(self, request: Request, uuid: object) -> Response:
        """Record what was done and what it cost; never more than was approved."""
        body, claim = self.body(request), self._claim()
        cents = ("part_cents", "labour_cents", "interior_cents")
        cost = Cost(**{name: body.pop(name, 0) for name in cents})  # type: ignore[arg-type]  # shape checked
        visits = facts_visible_to(Visit, self.caller.scope).filter(roof=claim.roof_id)
        if "visit" in body:
            body["visit"] = named(visits, body["visit"], "visit")
        kept = record_remedy(
            claim=claim,
            cost=cost,
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
            **body,  # type: ignore[arg-type]  # shape checked
        )
        is_new = kept.recorded_at == self.caller.now
        return self._told(RemedyOut, kept, 201 if is_new else 200)

    def close(self, request: Request, uuid: object) -> Response:
        """Close the claim: nothing is left to do."""
        return self._moved(claim_moves.close_claim, request)

    def withdraw(self, request: Request, uuid: object) -> Response:
        """Take the claim back before it is decided."""
        return self._moved(claim_moves.withdraw_claim, request)

    def reopen(self, request: Request, uuid: object) -> Response:
        """Look at the claim again; its earlier decision stays on record."""
        return self._moved(claim_moves.reopen_claim, request)

    def wait(self, request: Request, uuid: object) -> Response:
        """Stop the clock until the owner has answered."""
        return self._moved(claim_moves.wait_for_owner, request)

    def resume(self, request: Request, uuid: object) -> Response:
        """Let the clock run on: the owner has answered."""
        return self._moved(claim_moves.resume_claim, request)

    def evidence(self, request: Request, uuid: object) -> Response:
        """Return the clauses on the day, what is still missing, and the clock."""
        scope, now = self.caller.scope, self.caller.now
        page = claim_page(self._claim(), scope, known_at=now)
        return Response(ClaimEvidenceOut(page).data)

    def decision(self, request: Request, uuid: object) -> Response:
        """Return the decision that counts, with its letter."""
        made = decision_of(self._claim())
        if made is None:
            raise NotFound("The claim is not decided yet.")
        return self._told(DecisionOut, made, 200)

    def doubts(self, request: Request, uuid: object) -> Response:
        """Return the questions about the roof's records, open ones first."""
        return self._doubts(self._claim())

    def answer_doubt(self, request: Request, uuid: object) -> Response:
        """Answer or dismiss a doubt, with a reason."""
        body, claim = self.body(request), self._claim()
        answer_doubt(
            roof=claim.roof,
            by=self.caller.user,  # type: ignore[arg-type]  # signed in
            now=self.caller.now,
            **body,  # type: ignore[arg-type]  # shape checked
        )
        return self._doubts(claim)

    def _doubts(self, claim: Claim) -> Response:
        found = doubts_of(claim.roof_id, known_at=self.caller.now)
        return Response(DoubtOut(found, many=True).data)

    def _claim(self) -> Claim:
        claim: Claim = self.get_object()  # type: ignore[assignment]  # a Claim
        return claim

    def _moved(self, move: object, request: Request) -> Response:
        claim = move(  # type: ignore[operator]  # one of the moves
            claim=self._claim(),
            by=self.caller.user,
            now=self.caller.now,
            **self.body(request),
        )
        reports = {claim.pk: list(reports_of([claim.pk]))}
        context = self.get_serializer_context() | {"reports": reports}
        return Response(ClaimOut(claim, context=context).data)

    def _told(
        self, out: type[serializers.BaseSerializer], row: object, status: int
    ) -> Response:
        data = out(row, context=self.get_serializer_context()).data
        return Response(data, status)
