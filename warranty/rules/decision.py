"""The reasoned answer to a claim, and its replay.

A decision rests on the clauses as they stood on the day the loss was noticed, as known
when it was decided. What went in and what came out are kept as canonical JSON under
the version of the rules, so that the same engine gives the same bytes years later.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from fleet.ledger.canonical import canonical_json, sha256_hex
from warranty.rules.cause import OUTSIDE_THE_ROOF, Cause
from warranty.rules.clause import CLAUSES, Clause, Verdict
from warranty.rules.explain import ClauseResult, Explanation, explain
from warranty.rules.letter_words import forbidden_words
from warranty.rules.roof_facts import RoofFacts
from warranty.rules.stored import StoredInputError, plain, read
from warranty.rules.terms import Terms


class DecisionInputError(ValueError):
    """A decision that the clauses do not carry; ``field`` names what is wrong."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


class RuleVersionUnknown(ValueError):
    """A decision was made under rules that are not kept here."""


class Outcome(StrEnum):
    """What a claim is answered with."""

    APPROVED = "APPROVED"
    IN_PART = "IN_PART"
    DECLINED = "DECLINED"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One clause that a decision cites, and why it speaks for or against the claim."""

    clause: Clause
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a person decides.

    Parameters
    ----------
    outcome : Outcome
    reasons : tuple of Reason
        One per clause cited, in any order.
    approved_cents : int
        Most that is paid. [cent], 0 when declined, else > 0
    cause : Cause
        What let the water in, as far as it was found.
    """

    outcome: Outcome
    reasons: tuple[Reason, ...]
    approved_cents: int
    cause: Cause = Cause.UNKNOWN


def check_answer(answer: Answer, results: Sequence[ClauseResult]) -> None:
    """Refuse an answer that the clauses do not carry.

    An approval, whole or in part, cites every clause of the edition: the promise holds
    as a whole. Approved as a whole, each is met; in part, one may be not met, with the
    reason why something is paid all the same. Declined cites at least one clause that
    is not met, or a cause outside the roof. Nothing rests on a clause that is unknown.

    Parameters
    ----------
    answer : Answer
    results : sequence of ClauseResult
        Every clause of the edition on the day the loss was noticed.

    Raises
    ------
    DecisionInputError
        Naming the member that is wrong and what to do next.

    References
    ----------
    .. [1] 16 CFR 700.8: a decision may not be called final or binding.
    """
    verdicts = {result.clause: result.verdict for result in results}
    _check_amount(answer)
    _check_reasons(answer, verdicts)
    if answer.outcome is Outcome.DECLINED:
        _check_declined(answer, verdicts)
    else:
        _check_approved(answer, verdicts)


def _check_amount(answer: Answer) -> None:
    cents = answer.approved_cents
    if answer.outcome is Outcome.DECLINED and cents != 0:
        raise DecisionInputError(
            "approved_cents",
            f"A declined claim pays nothing, got {cents} cents. Set it to 0.",
        )
    if answer.outcome is not Outcome.DECLINED and cents <= 0:
        raise DecisionInputError(
            "approved_cents",
            f"An approved claim needs an amount above 0, got {cents} cents.",
        )


def _check_reasons(answer: Answer, verdicts: Mapping[Clause, Verdict]) -> None:
    cited = [each.clause for each in answer.reasons]
    if len(set(cited)) != len(cited):
        raise DecisionInputError("reasons", "Give each clause one reason.")
    for each in answer.reasons:
        name = each.clause.value
        if each.clause not in verdicts:
            raise DecisionInputError(
                "reasons", f"The edition has no clause {name}. Leave it out."
            )
        if not each.reason.strip():
            raise DecisionInputError("reasons", f"Say why clause {name} is cited.")
        words = forbidden_words(each.reason)
        if words:
            raise DecisionInputError(
                "reasons",
                f"The reason for clause {name} says {', '.join(words)}: an answer is "
                "never that. Say it in other words.",
            )
        if verdicts[each.clause] is Verdict.UNKNOWN:
            raise DecisionInputError(
                "reasons",
                f"Clause {name} is not known on that day. Record what is missing, or "
                "do not rest the decision on it.",
            )


def _check_declined(answer: Answer, verdicts: Mapping[Clause, Verdict]) -> None:
    not_met = any(verdicts[r.clause] is Verdict.NOT_MET for r in answer.reasons)
    if not not_met and answer.cause not in OUTSIDE_THE_ROOF:
        raise DecisionInputError(
            "reasons",
            "Cite at least one clause that is not met, or name a cause outside the "
            "roof.",
        )
    if not answer.reasons:
        raise DecisionInputError("reasons", "Cite at least one clause with a reason.")


def _check_approved(answer: Answer, verdicts: Mapping[Clause, Verdict]) -> None:
    cited = {each.clause for each in answer.reasons}
    unknown = [c.value for c, v in verdicts.items() if v is Verdict.UNKNOWN]
    if unknown:
        raise DecisionInputError(
            "outcome",
            f"Not known on that day: {', '.join(unknown)}. An approval rests on every "
            "clause: record what is missing, or waive the clause.",
        )
    left_out = [clause.value for clause in verdicts if clause not in cited]
    if left_out:
        raise DecisionInputError(
            "reasons", f"Give a reason for {', '.join(left_out)} too."
        )
    not_met = [c.value for c, v in verdicts.items() if v is Verdict.NOT_MET]
    if answer.outcome is Outcome.APPROVED and not_met:
        raise DecisionInputError(
            "outcome",
            f"Not met on that day: {', '.join(not_met)}. Approve in part, decline, or "
            "waive the clause first.",
        )
    if answer.cause in OUTSIDE_THE_ROOF:
        raise DecisionInputError(
            "cause", "The cause lies outside the roof. Decline, or correct the cause."
        )


Engine = Callable[[Terms, RoofFacts, date], Explanation]


def _results_1(said: Explanation) -> dict[str, object]:
    """Return the results in the shape of version 1. Its fields never change."""
    return {
        "as_of": said.as_of.isoformat(),
        "standing": said.standing.value,
        "next_due_on": plain(said.next_due_on),
        "clauses": [
            {
                "clause": each.clause.value,
                "number": each.number,
                "verdict": each.verdict.value,
                "waived": each.waived,
                "because": each.because,
                "cure": each.cure,
                "holds_until": plain(each.holds_until),
                "evidence": list(each.evidence),
            }
            for each in said.results
        ],
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """One version of the rules: what judges, and the shape of its results."""

    judge: Engine
    results: Callable[[Explanation], dict[str, object]]


# Every version that ever decided a claim. When the same facts could get another answer
# or sentence, RULE_VERSION is raised, the new engine is added under the new number and
# the old one stays here with the code it needs.
RULES: Final[dict[str, Rules]] = {"1": Rules(judge=explain, results=_results_1)}


def inputs_text(terms: Terms, facts: RoofFacts, as_of: date) -> str:
    """Return what a decision rests on, as canonical JSON."""
    return canonical_json(
        {"as_of": as_of.isoformat(), "terms": plain(terms), "facts": plain(facts)}
    )


def results_text(version: str, inputs: str) -> str:
    """Return the results of stored inputs under one version of the rules.

    Parameters
    ----------
    version : str
        A version in `RULES`.
    inputs : str
        Canonical JSON of `inputs_text`.

    Returns
    -------
    str
        Canonical JSON; the same inputs and version always give the same bytes.

    Raises
    ------
    RuleVersionUnknown
        If the version is not kept here.
    StoredInputError
        If the inputs do not have the shape of the rules.
    """
    rules = RULES.get(version)
    if rules is None:
        raise RuleVersionUnknown(
            f"version must be one of {', '.join(RULES)}, got {version!r}."
        )
    stored = json.loads(inputs)
    if not isinstance(stored, dict) or set(stored) != {"as_of", "terms", "facts"}:
        raise StoredInputError("inputs must hold as_of, terms and facts.")
    said = rules.judge(
        read(Terms, stored["terms"]),
        read(RoofFacts, stored["facts"]),
        date.fromisoformat(stored["as_of"]),
    )
    return canonical_json(rules.results(said))


def fingerprint(results: str) -> str:
    """Return the SHA-256 of results, by which a person says what they have seen."""
    return sha256_hex(results)


def reasons_text(reasons: Sequence[Reason]) -> str:
    """Return the reasons as canonical JSON, in the order of the clauses."""
    ordered = sorted(reasons, key=lambda each: CLAUSES.index(each.clause))
    return canonical_json({"reasons": [plain(each) for each in ordered]})


def read_reasons(text: str) -> tuple[Reason, ...]:
    """Return the reasons that `reasons_text` wrote."""
    return tuple(read(Reason, each) for each in json.loads(text)["reasons"])


def verdict_letters(results: Sequence[ClauseResult]) -> str:
    """Return one letter a clause in the rules' order: M, N, U; ``-`` is off."""
    letters = {Verdict.MET: "M", Verdict.NOT_MET: "N", Verdict.UNKNOWN: "U"}
    found = {each.clause: letters[each.verdict] for each in results}
    return "".join(found.get(clause, "-") for clause in CLAUSES)
