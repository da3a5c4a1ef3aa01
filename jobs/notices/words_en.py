"""What is said in English."""

from __future__ import annotations

from jobs.notices.words import Wording, Words
from warranty.documents.wording import on
from warranty.rules.ladder import Step

_RISK = (
    "After {due} the promise is at risk. Without an inspection by {grace} it is "
    "suspended, and a leak noticed while it is suspended is not covered."
)
_DUE = Wording(
    subject="Roof inspection due on {due}: coach {unit}",
    what="The roof of {coach} is due for its inspection on {due}. "
    "It counts from {window} on.",
    by="Have the roof inspected by {due}.",
    otherwise=_RISK,
    short="inspection due on {due}",
)
_GRACE = Wording(
    subject="Roof inspection overdue since {due}: coach {unit}",
    what="The roof of {coach} was due for its inspection on {due}. "
    "An inspection still counts until {grace}.",
    by="Have the roof inspected by {grace}.",
    otherwise="Without an inspection by {grace} the promise is suspended, and a leak "
    "noticed while it is suspended is not covered.",
    short="inspection overdue since {due}, still counts until {grace}",
)

ENGLISH = Words(
    steps={
        Step.BEFORE_60: _DUE,
        Step.BEFORE_30: _DUE,
        Step.BEFORE_7: _DUE,
        Step.ON_THE_DAY: Wording(
            subject="The day of the roof inspection is {due}: coach {unit}",
            what="The inspection of the roof of {coach} is due on {due}.",
            by="Have the roof inspected by {due}. It still counts until {grace}.",
            otherwise=_RISK,
            short="inspection due on {due}",
        ),
        Step.MID_GRACE: _GRACE,
        Step.LAST_GRACE_WEEK: Wording(
            subject="Last week for the roof inspection: coach {unit}",
            what="The roof of {coach} was due for its inspection on {due}. "
            "An inspection counts until {grace}, and no longer.",
            by="Have the roof inspected by {grace}.",
            otherwise="Without an inspection by {grace} the promise is suspended, and "
            "a leak noticed while it is suspended is not covered.",
            short="last week: inspection counts until {grace}",
        ),
        Step.SUSPENDED: Wording(
            subject="The promise on the roof is suspended: coach {unit}",
            what="The roof of {coach} was not inspected in time, so the promise on it "
            "is suspended. A leak noticed while it is suspended is not covered.",
            by="Have the roof inspected and reinstated by {by}.",
            otherwise="Without a reinstatement by {by} the promise ends.",
            short="suspended; can be reinstated until {by}",
        ),
        Step.REINSTATED: Wording(
            subject="The promise on the roof is in force again: coach {unit}",
            what="The promise on the roof of {coach} is in force again. A leak noticed "
            "while it was suspended stays uncovered.",
            short="in force again",
        ),
        Step.ENDED: Wording(
            subject="The promise on the roof has ended: coach {unit}",
            what="By our records the promise on the roof of {coach} has ended: its "
            "term is over, the coach is off the road, or the time to reinstate it has "
            "passed. If our records are wrong, tell us, and we look at them again.",
            short="ended",
        ),
        Step.REGISTRATION: Wording(
            subject="Register the roof by {about}: coach {unit}",
            what="The promise on the roof of {coach} is not registered yet.",
            by="Register it with us by {about}.",
            otherwise="Not registered by then, the promise does not come into force.",
            short="register by {about}",
        ),
        Step.CURE: Wording(
            subject="A serious finding has to be repaired by {about}: coach {unit}",
            what="A serious finding on the roof of {coach} is still open.",
            by="Have it repaired by {about}.",
            otherwise="Not repaired by then, the promise is suspended until it is, and "
            "a leak noticed meanwhile is not covered.",
            short="serious finding: repair by {about}",
        ),
        Step.CLAIM: Wording(
            subject="Your claim {ref}: coach {unit}",
            what="There is news of your claim {ref} about the roof of {coach}.",
            short="news of claim {ref}",
        ),
    },
    suspended_by_finding=Wording(
        subject="The promise on the roof is suspended: coach {unit}",
        what="A serious finding on the roof of {coach} was not repaired in time, so "
        "the promise on it is suspended until it is. A leak noticed meanwhile is not "
        "covered.",
        by="Have the finding repaired as soon as you can.",
        short="suspended until a serious finding is repaired",
    ),
    claims={
        "REPORTED": Wording(
            subject="We have your claim {ref}: coach {unit}",
            what="We have your report about the roof of {coach}. It is claim {ref}. "
            "Keep water out as well as you safely can, and keep photos.",
            by="We owe you an answer by {answer}.",
            otherwise="If you hear nothing by then, call us: the claim stays open.",
            short="claim {ref} reported",
        ),
        "WAIT": Wording(
            subject="Claim {ref} waits for you: coach {unit}",
            what="We need something from you about claim {ref} on the roof of {coach}.",
            by="Answer us when you can; the time to decide stands still until then.",
            otherwise="Without your answer the claim stays open and undecided.",
            short="claim {ref} waits for your answer",
        ),
        "DECIDE": Wording(
            subject="Claim {ref} is decided: coach {unit}",
            what="Claim {ref} about the roof of {coach} is decided. The letter with "
            "our reasons, clause by clause, is sent to you.",
            by="If you see it differently, tell us: a claim can be opened again.",
            short="claim {ref} decided",
        ),
        "REMEDY": Wording(
            subject="Work on claim {ref} is recorded: coach {unit}",
            what="What was done about claim {ref} on the roof of {coach} is recorded.",
            short="claim {ref}: work recorded",
        ),
        "CLOSE": Wording(
            subject="Claim {ref} is closed: coach {unit}",
            what="Claim {ref} about the roof of {coach} is closed. If something is "
            "left to do, tell us: a claim can be opened again.",
            short="claim {ref} closed",
        ),
        "WITHDRAW": Wording(
            subject="Claim {ref} is withdrawn: coach {unit}",
            what="Claim {ref} about the roof of {coach} is withdrawn. If that was not "
            "your wish, tell us: a claim can be opened again.",
            short="claim {ref} withdrawn",
        ),
        "REOPEN": Wording(
            subject="Claim {ref} is open again: coach {unit}",
            what="Claim {ref} about the roof of {coach} is open again.",
            by="We owe you an answer by {answer}.",
            short="claim {ref} open again",
        ),
    },
    on=on,
    greeting="Dear {name},",
    fleet_greeting="To {name}:",
    several_subject="News of the roof of coach {unit}",
    digest_subject="{count} coaches need a look at their roof",
    digest_opening="These coaches of yours have dates coming up or news. The same "
    "table is attached as files.",
    table_heads=("Coach no.", "Coach", "What", "By when"),
    button="See this notice",
    fleet_button="See your coaches",
    caution="Please do not climb onto the roof to look: a fall can kill, and soft "
    "decks and ladders give way. Local codes come first.",
    why_you="You get this because our records name you as the holder.",
    law="This message changes no term: the text of your edition and local law decide.",
    stop_label="No more reminders, please",
    stop_note="News of a claim or of a suspended promise is sent all the same.",
    calendar_summary="Roof of coach {unit}: {short}",
    by_label="By when",
    otherwise_label="What happens if not",
    none="—",
)
