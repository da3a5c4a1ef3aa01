"""The warranty-law checklist, a named check a rule.

United States federal rules; local law governs, and a check that passes is no legal
advice. An *error* keeps an edition from being published; a *question* is for the
office, and for its counsel, to answer.

References
----------
.. [1] 16 CFR parts 239, 700, 701 and 703; 15 USC 2301-2312.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from warranty.rules.lint import (
    conditions_on_one_shop,
    disclaims_implied_warranties,
    faults_in,
    says_lifetime,
    says_the_last_word,
)
from warranty.rules.promise import (
    CONSEQUENTIAL_LIMIT_SENTENCE,
    IMPLIED_LIMIT_SENTENCE,
    RIGHTS_SENTENCE,
    Item,
    Promise,
)


class Severity(StrEnum):
    """What a failed check means."""

    ERROR = "error"
    QUESTION = "question"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """What a check found: where, and what to do about it."""

    field: str
    says: str


Check = Callable[[Promise], Fault | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule of the checklist."""

    code: str
    title: str
    citation: str
    severity: Severity
    check: Check


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """What one rule says of one edition; no fault is a pass."""

    rule: Rule
    fault: Fault | None

    @property
    def is_error(self) -> bool:
        """Whether it keeps the edition from being published."""
        return self.fault is not None and self.rule.severity is Severity.ERROR


def check_promise(promise: Promise) -> tuple[CheckResult, ...]:
    """Return what every rule says of an edition, in the checklist's order."""
    return tuple(CheckResult(rule=rule, fault=rule.check(promise)) for rule in RULES)


def errors_of(promise: Promise) -> tuple[CheckResult, ...]:
    """Return the rules that keep an edition from being published."""
    return tuple(result for result in check_promise(promise) if result.is_error)


def _fault(field: str, says: str) -> Fault:
    return Fault(field=field, says=says)


def _missing(item: Item, says: str) -> Check:
    def check(promise: Promise) -> Fault | None:
        return None if promise.says(item) else _fault(item.value, says)

    return check


def _covered_owner(promise: Promise) -> Fault | None:
    if promise.is_transferable or promise.says(Item.COVERED_OWNER):
        return None
    return _fault("covered_owner", "Say who is covered: a later holder is not.")


def _warrantor(promise: Promise) -> Fault | None:
    if not promise.warrantor_name.strip():
        return _fault("", "Set the company's name before an edition is published.")
    if not promise.warrantor_address.strip():
        return _fault("", "Set the company's address: claims need somewhere to go.")
    return None


def _title_says_its_kind(promise: Promise) -> Fault | None:
    title = promise.title.casefold()
    other = "limited" if promise.is_full else "full"
    if other in title.split() or f"{other}-" in title:
        return _fault(
            "title",
            f"The title says “{other}”, the designation is {promise.designation}."
            " Make them agree.",
        )
    if promise.designation.value not in title:
        return _fault(
            "title",
            f"Put the word “{promise.designation}” into the title, beside “warranty”.",
        )
    return None


def _full_and_registration(promise: Promise) -> Fault | None:
    if promise.is_full and promise.demands_registration:
        return _fault(
            "designation",
            "A full warranty cannot rest on a registration. Call it limited, or ask"
            " for registration only as proof of the date.",
        )
    return None


def _full_and_paid_inspection(promise: Promise) -> Fault | None:
    is_paid = promise.demands_inspections and not promise.inspections_free
    if promise.is_full and is_paid:
        return _fault(
            "inspections_free",
            "A full warranty cannot rest on inspections that the owner pays for. Call"
            " it limited, or make them free.",
        )
    return None


def _full_and_implied_limit(promise: Promise) -> Fault | None:
    if promise.is_full and promise.says(Item.IMPLIED_LIMIT):
        return _fault(
            "implied_limit",
            "A full warranty cannot limit how long implied warranties last. Empty this"
            " item or call it limited.",
        )
    return None


def _full_for_every_owner(promise: Promise) -> Fault | None:
    if not promise.is_full:
        return None
    if not promise.is_transferable:
        return _fault(
            "is_transferable",
            "A full warranty covers everybody who owns the coach while it runs. Let it"
            " pass on, or call it limited.",
        )
    if promise.transfer_needs_inspection:
        return _fault(
            "transfer_needs_inspection",
            "A full warranty cannot make a later owner's cover rest on an inspection."
            " Drop it or call it limited.",
        )
    return None


def _full_and_consequential_limit(promise: Promise) -> Fault | None:
    if promise.is_full and promise.says(Item.CONSEQUENTIAL_LIMIT):
        return _fault(
            "consequential_limit",
            "Under a full warranty this limit counts only if it is conspicuous on the"
            " face. Is it meant, and set so that nobody misses it?",
        )
    return None


def _lifetime_says_whose(promise: Promise) -> Fault | None:
    if promise.life_of.strip():
        return None
    if promise.term_months is None:
        return _fault("life_of", "Say whose life a promise without a term runs for.")
    for field, text in promise.every_text:
        if says_lifetime(text):
            return _fault(field, "It says “lifetime”. Say whose life that is.")
    return None


def _lifetime_beside_a_term(promise: Promise) -> Fault | None:
    if promise.term_months is None:
        return None
    for field, text in promise.every_text:
        if says_lifetime(text):
            months = promise.term_months
            return _fault(
                field, f"It says “lifetime”, the term is {months} months. Which is it?"
            )
    return None


def _duties(promise: Promise) -> Fault | None:
    asks = promise.demands_inspections or promise.demands_registration
    if asks and not promise.says(Item.DUTIES):
        return _fault("duties", "Name every duty the cover rests on, inspections too.")
    return None


def _duties_reason(promise: Promise) -> Fault | None:
    if promise.says(Item.DUTIES) and not promise.says(Item.DUTIES_REASON):
        return _fault("duties_reason", "Why are these duties reasonable and needed?")
    return None


def _needs_sentence(item: Item, sentence: str) -> Check:
    def check(promise: Promise) -> Fault | None:
        said = promise.says(item)
        if said and not _contains(said, sentence):
            return _fault(item.value, f"Add to this item: “{sentence}”")
        return None

    return check


def _rights(promise: Promise) -> Fault | None:
    if _contains(promise.says(Item.RIGHTS), RIGHTS_SENTENCE):
        return None
    return _fault("rights", f"This item has to say: “{RIGHTS_SENTENCE}”")


def _contains(said: str, sentence: str) -> bool:
    return " ".join(sentence.split()).casefold() in " ".join(said.split()).casefold()


def _registration(promise: Promise) -> Fault | None:
    if promise.demands_registration and not promise.says(Item.REGISTRATION):
        return _fault(
            "registration",
            "Registration is a condition. Say so, by when, and how it is done.",
        )
    return None


def _registration_not_demanded(promise: Promise) -> Fault | None:
    if not promise.demands_registration and not promise.says(Item.REGISTRATION):
        return _fault(
            "registration",
            "Do owners get a card or a page that looks like a condition? If so, say"
            " that the cover does not rest on it.",
        )
    return None


def _tied_inspections(promise: Promise) -> Fault | None:
    is_paid = promise.demands_inspections and not promise.inspections_free
    if is_paid and not promise.accepts_other_shops:
        return _fault(
            "accepts_other_shops",
            "Only this company's paid inspections count. May any competent person"
            " inspect, or is the inspection free?",
        )
    return None


def _tied_work(promise: Promise) -> Fault | None:
    return _lint(promise, conditions_on_one_shop, "Cover must not rest on a named shop")


def _finality(promise: Promise) -> Fault | None:
    return _lint(
        promise, says_the_last_word, "The company's word on a claim is never the last"
    )


def _disclaimer(promise: Promise) -> Fault | None:
    return _lint(
        promise,
        disclaims_implied_warranties,
        "Implied warranties cannot be disclaimed beside a written warranty",
    )


def _lint(
    promise: Promise, is_fault: Callable[[str], bool], because: str
) -> Fault | None:
    for field, text in promise.every_text:
        for sentence in faults_in(text, is_fault):
            return _fault(field, f"{because}. Reword: “{sentence}”")
    return None


def _rule(
    code: str, title: str, citation: str, check: Check, *, asks: bool = False
) -> Rule:
    severity = Severity.QUESTION if asks else Severity.ERROR
    return Rule(
        code=code, title=title, citation=citation, severity=severity, check=check
    )


RULES: Final[tuple[Rule, ...]] = (
    _rule(
        "title_says_its_kind",
        "The title says full or limited",
        "15 USC 2303; 16 CFR 700.6",
        _title_says_its_kind,
    ),
    _rule(
        "full_without_registration",
        "A full warranty demands no registration",
        "16 CFR 700.7",
        _full_and_registration,
    ),
    _rule(
        "full_without_paid_inspection",
        "A full warranty demands no paid inspection",
        "15 USC 2304(b)(1)",
        _full_and_paid_inspection,
    ),
    _rule(
        "full_without_implied_limit",
        "A full warranty does not limit implied warranties",
        "15 USC 2304(a)(2)",
        _full_and_implied_limit,
    ),
    _rule(
        "full_for_every_owner",
        "A full warranty covers every owner while it runs",
        "15 USC 2304",
        _full_for_every_owner,
    ),
    _rule(
        "full_consequential_limit",
        "A full warranty's limit of damages is on its face",
        "15 USC 2304(a)(3)",
        _full_and_consequential_limit,
        asks=True,
    ),
    _rule(
        "covered_owner",
        "Who is covered, if not every holder",
        "16 CFR 701.3(a)(1)",
        _covered_owner,
    ),
    _rule(
        "covered",
        "What is covered",
        "16 CFR 701.3(a)(2)",
        _missing(Item.COVERED, "Say which parts and faults are covered."),
    ),
    _rule(
        "exclusions",
        "What is not covered",
        "16 CFR 701.3(a)(2)",
        _missing(Item.EXCLUSIONS, "Say what is not covered."),
    ),
    _rule(
        "remedy",
        "What is done and paid for",
        "16 CFR 701.3(a)(3)",
        _missing(Item.REMEDY, "Say what the company does and pays for."),
    ),
    _rule(
        "not_paid",
        "What is not paid for",
        "16 CFR 701.3(a)(3)",
        _missing(Item.NOT_PAID, "Is there anything the owner pays? Say so, or none."),
        asks=True,
    ),
    _rule(
        "claim_procedure",
        "How to claim, step by step",
        "16 CFR 701.3(a)(5)",
        _missing(Item.CLAIM_PROCEDURE, "Say step by step how a claim is made."),
    ),
    _rule(
        "who_may_work",
        "Who may do the work",
        "16 CFR 701.3(a)(5)",
        _missing(Item.WHO_MAY_WORK, "Say who is authorised to do covered work."),
    ),
    _rule(
        "warrantor",
        "The warrantor's name and address",
        "16 CFR 701.3(a)(5)",
        _warrantor,
    ),
    _rule(
        "dispute_mechanism",
        "An informal way to settle disputes",
        "16 CFR 701.3(a)(6)",
        _missing(
            Item.DISPUTE_MECHANISM,
            "Is there an informal way to settle disputes? Name it, or say there is"
            " none.",
        ),
        asks=True,
    ),
    _rule(
        "implied_limit_sentence",
        "A limit of implied warranties carries its State sentence",
        "16 CFR 701.3(a)(7)",
        _needs_sentence(Item.IMPLIED_LIMIT, IMPLIED_LIMIT_SENTENCE),
    ),
    _rule(
        "consequential_limit_sentence",
        "A limit of damages carries its State sentence",
        "16 CFR 701.3(a)(8)",
        _needs_sentence(Item.CONSEQUENTIAL_LIMIT, CONSEQUENTIAL_LIMIT_SENTENCE),
    ),
    _rule("rights", "The legal-rights sentence", "16 CFR 701.3(a)(9)", _rights),
    _rule("duties", "Every duty is named", "16 CFR 701.3(a)", _duties),
    _rule(
        "duties_reason",
        "Duties come with their reason",
        "15 USC 2304(b)(1)",
        _duties_reason,
        asks=True,
    ),
    _rule(
        "registration_said",
        "A registration that is a condition says so",
        "16 CFR 701.4",
        _registration,
    ),
    _rule(
        "registration_not_a_condition",
        "A registration that is no condition says so",
        "16 CFR 701.4",
        _registration_not_demanded,
        asks=True,
    ),
    _rule(
        "lifetime_says_whose",
        "“Lifetime” says whose life",
        "16 CFR 239.4",
        _lifetime_says_whose,
    ),
    _rule(
        "lifetime_beside_a_term",
        "“Lifetime” and a term do not contradict",
        "16 CFR 239.4",
        _lifetime_beside_a_term,
        asks=True,
    ),
    _rule(
        "tied_inspections",
        "Inspections are not tied to one paid shop",
        "16 CFR 700.10",
        _tied_inspections,
        asks=True,
    ),
    _rule(
        "tied_work",
        "Care and repair are not tied to one shop",
        "16 CFR 700.10",
        _tied_work,
        asks=True,
    ),
    _rule("finality", "No decision is called the last word", "16 CFR 700.8", _finality),
    _rule(
        "implied_disclaimer",
        "Implied warranties are not disclaimed",
        "15 USC 2308",
        _disclaimer,
    ),
)
