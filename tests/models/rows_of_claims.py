"""Valid rows and refused ones for decisions, remedies, moves, waits and doubts."""

from __future__ import annotations

from itertools import count

from fleet import models as fleet
from tests.builders import COMPLETED, NOON, office
from tests.models.rows import (
    RECORD_NAMES,
    VALID,
    Case,
    case,
    claim,
    edition,
    of_every_record,
    private_text,
    saved,
    valid,
)
from warranty import models as warranty

_rounds = count(1)


def decision() -> warranty.Decision:
    return saved(valid(warranty.Decision))


VALID.update(
    {
        warranty.Proposal: lambda: {
            "claim": claim(),
            "round_no": 1,
            "noticed_on": COMPLETED,
            "outcome": "APPROVED",
            "approved_cents": 1,
            "cause": "film",
            "reasons": private_text(),
            "seen_sha256": "0" * 64,
        },
        warranty.Decision: lambda: {
            "claim": claim(),
            "round_no": next(_rounds),
            "noticed_on": COMPLETED,
            "outcome": "APPROVED",
            "approved_cents": 100,
            "cause": "film",
            "edition": edition(),
            "rule_version": "1",
            "known_at": NOON,
            "standing": "IN_FORCE",
            "verdicts": "M",
            "inputs": private_text(),
            "results": private_text(),
            "reasons": private_text(),
            "decided_by": office(),
        },
        warranty.Remedy: lambda: {
            "decision": decision(),
            "part_cents": 100,
            "done_on": COMPLETED,
        },
        warranty.ClaimMove: lambda: {
            "claim": claim(),
            "move": "CLOSE",
            "source": "DECIDED",
            "target": "CLOSED",
            "happened_on": COMPLETED,
        },
        warranty.ClaimWait: lambda: {
            "claim": claim(),
            "turn": "WAIT",
            "happened_on": COMPLETED,
        },
        warranty.DoubtAnswer: lambda: {
            "sign": "WET_ALL_EQUAL",
            "key": "0" * 64,
            "word": "ANSWERED",
            "why": private_text(),
        },
    }
)
CLAIM_RECORDS: dict[str, type[fleet.Record]] = {
    "proposal": warranty.Proposal,
    "decision": warranty.Decision,
    "remedy": warranty.Remedy,
    "claim_move": warranty.ClaimMove,
    "claim_wait": warranty.ClaimWait,
    "doubt_answer": warranty.DoubtAnswer,
}
RECORD_NAMES.update(CLAIM_RECORDS)

CLAIM_CASES: list[Case] = [
    *(
        each
        for name, table in CLAIM_RECORDS.items()
        for each in of_every_record(name, table)
    ),
    case(
        "proposal_amount_fits_outcome",
        warranty.Proposal,
        takes={"outcome": "DECLINED", "approved_cents": 0},
        refuses={"outcome": "DECLINED", "approved_cents": 1},
    ),
    case(
        "decision_amount_fits_outcome",
        warranty.Decision,
        takes={"outcome": "IN_PART", "approved_cents": 1},
        refuses={"outcome": "IN_PART", "approved_cents": 0},
    ),
    case(
        "decision_outcome_known",
        warranty.Decision,
        takes={"outcome": "DECLINED", "approved_cents": 0},
        refuses={"outcome": "MAYBE"},
    ),
    case(
        "decision_once_a_round",
        warranty.Decision,
        takes={},
        refuses=lambda first: {"round_no": first.round_no},
    ),
    case(
        "decision_seconded_by_another_person",
        warranty.Decision,
        takes=lambda _: {"seconded_by": saved(valid(fleet.User))},
        refuses=lambda _: {"seconded_by": office()},
    ),
    case(
        "remedy_costs_not_negative",
        warranty.Remedy,
        takes={"part_cents": 0, "labour_cents": 0, "interior_cents": 100},
        refuses={"labour_cents": -1},
    ),
    case(
        "claim_move_known",
        warranty.ClaimMove,
        takes={"move": "REOPEN"},
        refuses={"move": "FORGET"},
    ),
    case(
        "claim_wait_turn_known",
        warranty.ClaimWait,
        takes={"turn": "RESUME"},
        refuses={"turn": "SLEEP"},
    ),
    case(
        "doubt_answer_word_known",
        warranty.DoubtAnswer,
        takes={"word": "DISMISSED"},
        refuses={"word": "ACCUSED"},
    ),
]
