"""What was decided about a claim, what was done, and every move it made."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from fleet.models import RoofFact
from fleet.models.base import record_constraints
from warranty.models.claim import Claim
from warranty.rules.cause import Cause
from warranty.rules.claim import ClaimStatus, Move
from warranty.rules.clause import Standing
from warranty.rules.decision import Outcome

OUTCOMES = [(each.value, each.value) for each in Outcome]
CAUSES = [(each.value, each.value) for each in Cause]
STATUSES = [(each.value, each.value) for each in ClaimStatus]
MOVES = [(each.value, each.value) for each in Move]
STANDINGS = [(each.value, each.value) for each in Standing]
# A declined claim pays nothing, an approved one something.
AMOUNT = Q(outcome=Outcome.DECLINED.value, approved_cents=0) | (
    ~Q(outcome=Outcome.DECLINED.value) & Q(approved_cents__gt=0)
)


class Proposal(RoofFact):
    """An answer above the limit, waiting for a second person. The latest counts."""

    ledger_fields = (
        "claim",
        "round_no",
        "outcome",
        "approved_cents",
        "cause",
        "reasons",
        "seen_sha256",
        "noticed_on",
    )

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="proposals")
    round_no = models.PositiveSmallIntegerField()
    noticed_on = models.DateField()
    outcome = models.CharField(max_length=8, choices=OUTCOMES)
    approved_cents = models.BigIntegerField()
    cause = models.CharField(max_length=12, choices=CAUSES)
    reasons = models.ForeignKey(
        "fleet.PrivateText", models.PROTECT, related_name="proposals"
    )
    # The results it was made on: on others the second person has to look again.
    seen_sha256 = models.CharField(max_length=64)

    class Meta:
        constraints = [
            *record_constraints("proposal"),
            models.CheckConstraint(
                name="proposal_amount_fits_outcome", condition=AMOUNT
            ),
        ]


class Decision(RoofFact):
    """One reasoned answer to a claim. A reopened claim gets another one beside it."""

    ledger_fields = (
        "claim",
        "round_no",
        "noticed_on",
        "outcome",
        "approved_cents",
        "currency",
        "cause",
        "edition",
        "rule_version",
        "known_at",
        "standing",
        "verdicts",
        "inputs",
        "results",
        "reasons",
        "decided_by",
        "seconded_by",
    )

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="decisions")
    # Counts the claim's decisions from one; reopened, it is decided once more.
    round_no = models.PositiveSmallIntegerField()
    # The day whose standing was asked.
    noticed_on = models.DateField()
    outcome = models.CharField(max_length=8, choices=OUTCOMES)
    approved_cents = models.BigIntegerField()
    currency = models.CharField(max_length=3, default="USD")
    cause = models.CharField(max_length=12, choices=CAUSES)
    edition = models.ForeignKey(
        "warranty.Edition", models.PROTECT, related_name="decisions"
    )
    rule_version = models.CharField(max_length=16)
    known_at = models.DateTimeField()
    standing = models.CharField(max_length=12, choices=STANDINGS)
    # One letter a clause in the rules' order: M met, N not met, U unknown, - off.
    verdicts = models.CharField(max_length=16)
    # Canonical JSON. It names people and quotes them, so it can be erased; what the
    # columns above say stays.
    inputs = models.ForeignKey(
        "fleet.PrivateText", models.PROTECT, related_name="decision_inputs"
    )
    results = models.ForeignKey(
        "fleet.PrivateText", models.PROTECT, related_name="decision_results"
    )
    reasons = models.ForeignKey(
        "fleet.PrivateText", models.PROTECT, related_name="decision_reasons"
    )
    decided_by = models.ForeignKey(
        "fleet.User", models.PROTECT, related_name="decisions"
    )
    seconded_by = models.ForeignKey(
        "fleet.User",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="seconded_decisions",
    )

    class Meta:
        constraints = [
            *record_constraints("decision"),
            models.CheckConstraint(
                name="decision_amount_fits_outcome", condition=AMOUNT
            ),
            models.CheckConstraint(
                name="decision_outcome_known",
                condition=Q(outcome__in=[each.value for each in Outcome]),
            ),
            models.UniqueConstraint(
                name="decision_once_a_round", fields=["claim", "round_no"]
            ),
            models.CheckConstraint(
                name="decision_seconded_by_another_person",
                condition=Q(seconded_by__isnull=True) | ~Q(seconded_by=F("decided_by")),
            ),
        ]


class Remedy(RoofFact):
    """Something done about an approved claim, and its cost. A trigger refuses what
    would pay more than was approved."""

    ledger_fields = (
        "decision",
        "part_cents",
        "labour_cents",
        "interior_cents",
        "done_on",
        "visit",
        "note",
    )

    decision = models.ForeignKey(Decision, models.PROTECT, related_name="remedies")
    part_cents = models.BigIntegerField(default=0)
    labour_cents = models.BigIntegerField(default=0)
    interior_cents = models.BigIntegerField(default=0)
    done_on = models.DateField()
    visit = models.ForeignKey(
        "fleet.Visit", models.PROTECT, null=True, blank=True, related_name="remedies"
    )
    note = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="remedies",
    )

    class Meta:
        constraints = [
            *record_constraints("remedy"),
            models.CheckConstraint(
                name="remedy_costs_not_negative",
                condition=Q(
                    part_cents__gte=0, labour_cents__gte=0, interior_cents__gte=0
                ),
            ),
        ]
        indexes = [models.Index(name="remedy_by_decision", fields=["decision"])]

    @property
    def total_cents(self) -> int:
        """What it cost altogether."""
        return self.part_cents + self.labour_cents + self.interior_cents


class ClaimMove(RoofFact):
    """A claim went from one status to another."""

    ledger_fields = ("claim", "move", "source", "target", "happened_on", "why")

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="moves")
    move = models.CharField(max_length=8, choices=MOVES)
    source = models.CharField(max_length=12, choices=STATUSES)
    target = models.CharField(max_length=12, choices=STATUSES)
    happened_on = models.DateField()
    why = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="claim_moves",
    )

    class Meta:
        constraints = [
            *record_constraints("claim_move"),
            models.CheckConstraint(
                name="claim_move_known",
                condition=Q(move__in=[each.value for each in Move]),
            ),
        ]


class WaitTurn(models.TextChoices):
    """Whether we begin to wait for the owner or have the answer."""

    WAIT = "WAIT", "waiting for the owner"
    RESUME = "RESUME", "the owner has answered"


class ClaimWait(RoofFact):
    """The clock of a claim stops, or runs on."""

    ledger_fields = ("claim", "turn", "happened_on", "why")

    claim = models.ForeignKey(Claim, models.PROTECT, related_name="waits")
    turn = models.CharField(max_length=6, choices=WaitTurn)
    happened_on = models.DateField()
    why = models.ForeignKey(
        "fleet.PrivateText",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="claim_waits",
    )

    class Meta:
        constraints = [
            *record_constraints("claim_wait"),
            models.CheckConstraint(
                name="claim_wait_turn_known", condition=Q(turn__in=WaitTurn.values)
            ),
        ]


class DoubtWord(models.TextChoices):
    ANSWERED = "ANSWERED", "answered"
    DISMISSED = "DISMISSED", "dismissed"


class DoubtAnswer(RoofFact):
    """A person's answer to a doubt about the records of a roof. The latest counts."""

    ledger_fields = ("sign", "key", "word", "why")

    # What kind of sign it is, and by which records this one is known.
    sign = models.CharField(max_length=24)
    key = models.CharField(max_length=64)
    word = models.CharField(max_length=9, choices=DoubtWord)
    why = models.ForeignKey(
        "fleet.PrivateText", models.PROTECT, related_name="doubt_answers"
    )

    class Meta:
        constraints = [
            *record_constraints("doubt_answer"),
            models.CheckConstraint(
                name="doubt_answer_word_known",
                condition=Q(word__in=DoubtWord.values),
            ),
        ]
