"""The warranty-law checklist, each check beside the section it comes from.

Sections marked M are from memory of the regulation's text; the others were read.
"""

from __future__ import annotations

from typing import Any

import pytest

from warranty.rules.law import RULES, Severity, check_promise, errors_of
from warranty.rules.lint import says_the_last_word
from warranty.rules.promise import (
    CONSEQUENTIAL_LIMIT_SENTENCE,
    IMPLIED_LIMIT_SENTENCE,
    RIGHTS_SENTENCE,
    Item,
    Promise,
)
from warranty.rules.terms import Designation

TEXTS = {
    Item.COVERED: "Leaks through the film and its details.",
    Item.EXCLUSIONS: "Impact, fire, and what was fitted later.",
    Item.REMEDY: "We recoat or repair the leaking place and pay parts and labour.",
    Item.NOT_PAID: "Travel of the owner.",
    Item.DUTIES: "Have the roof inspected every twelve months.",
    Item.DUTIES_REASON: "Sealant ages, and small gaps let water under the film.",
    Item.CLAIM_PROCEDURE: "1. Call us. 2. Keep the roof dry. 3. Let us look.",
    Item.WHO_MAY_WORK: "Any competent person may make a leak safe.",
    Item.DISPUTE_MECHANISM: "There is none.",
    Item.RIGHTS: RIGHTS_SENTENCE,
    Item.REGISTRATION: "Registration within 30 days is a condition.",
}


def promise(texts: dict[Item, str] | None = None, **over: Any) -> Promise:
    """A limited warranty that every check passes."""
    fields: dict[str, Any] = {
        "title": "Limited warranty for the life of the coach",
        "designation": Designation.LIMITED,
        "term_months": None,
        "life_of": "coach",
        "demands_registration": True,
        "demands_inspections": True,
        "inspections_free": False,
        "accepts_other_shops": True,
        "is_transferable": True,
        "transfer_needs_inspection": False,
        "warrantor_name": "Harrow Lake Roof Works",
        "warrantor_address": "1 Landing Road, Harrow Lake",
        "texts": {**TEXTS, **(texts or {})},
    }
    return Promise(**{**fields, **over})


def full(texts: dict[Item, str] | None = None, **over: Any) -> Promise:
    """A full warranty that every error check passes."""
    fields: dict[str, Any] = {
        "title": "Full two-year warranty",
        "designation": Designation.FULL,
        "term_months": 24,
        "demands_registration": False,
        "demands_inspections": False,
    }
    return promise(texts, **{**fields, **over})


def failed(checked: Promise) -> list[str]:
    return [result.rule.code for result in check_promise(checked) if result.fault]


def test_a_complete_limited_warranty_passes_every_check():
    assert failed(promise()) == []


def test_a_complete_full_warranty_passes_every_check():
    assert failed(full()) == []


# Rule broken, its section, and the edition that breaks it and nothing else.
ERRORS = [
    ("title_says_its_kind", "15 USC 2303", promise(title="Roof warranty")),
    ("title_says_its_kind", "16 CFR 700.6", promise(title="Full limited warranty")),
    ("full_without_registration", "16 CFR 700.7", full(demands_registration=True)),
    (
        "full_without_paid_inspection",
        "15 USC 2304(b)(1)",
        full(demands_inspections=True),
    ),
    (
        "full_without_implied_limit",
        "15 USC 2304(a)(2)",
        full({Item.IMPLIED_LIMIT: f"Two years. {IMPLIED_LIMIT_SENTENCE}"}),
    ),
    (
        "full_for_every_owner",
        "15 USC 2304",
        full({Item.COVERED_OWNER: "The first holder."}, is_transferable=False),
    ),
    ("full_for_every_owner", "15 USC 2304", full(transfer_needs_inspection=True)),
    ("covered_owner", "16 CFR 701.3(a)(1)", promise(is_transferable=False)),
    ("covered", "16 CFR 701.3(a)(2)", promise({Item.COVERED: " "})),
    ("exclusions", "16 CFR 701.3(a)(2)", promise({Item.EXCLUSIONS: ""})),
    ("remedy", "16 CFR 701.3(a)(3)", promise({Item.REMEDY: ""})),
    ("claim_procedure", "16 CFR 701.3(a)(5)", promise({Item.CLAIM_PROCEDURE: ""})),
    ("who_may_work", "16 CFR 701.3(a)(5)", promise({Item.WHO_MAY_WORK: ""})),
    ("warrantor", "16 CFR 701.3(a)(5)", promise(warrantor_address="")),
    (
        "implied_limit_sentence",
        "16 CFR 701.3(a)(7)",  # M
        promise({Item.IMPLIED_LIMIT: "Implied warranties last two years."}),
    ),
    (
        "consequential_limit_sentence",
        "16 CFR 701.3(a)(8)",  # M
        promise({Item.CONSEQUENTIAL_LIMIT: "We do not pay for lost rent."}),
    ),
    ("rights", "16 CFR 701.3(a)(9)", promise({Item.RIGHTS: "You have rights."})),
    ("duties", "16 CFR 701.3(a)", promise({Item.DUTIES: ""})),
    ("registration_said", "16 CFR 701.4", promise({Item.REGISTRATION: ""})),  # M
    ("lifetime_says_whose", "16 CFR 239.4", promise(life_of="")),
    (
        "finality",
        "16 CFR 700.8",  # M
        promise({Item.CLAIM_PROCEDURE: "Call us. Our decision is final."}),
    ),
    (
        "implied_disclaimer",
        "15 USC 2308",  # M
        promise({Item.EXCLUSIONS: "All implied warranties are disclaimed."}),
    ),
]
QUESTIONS = [
    (
        "full_consequential_limit",
        "15 USC 2304(a)(3)",
        full({Item.CONSEQUENTIAL_LIMIT: CONSEQUENTIAL_LIMIT_SENTENCE}),
    ),
    ("not_paid", "16 CFR 701.3(a)(3)", promise({Item.NOT_PAID: ""})),
    ("dispute_mechanism", "16 CFR 701.3(a)(6)", promise({Item.DISPUTE_MECHANISM: ""})),
    ("duties_reason", "15 USC 2304(b)(1)", promise({Item.DUTIES_REASON: ""})),
    (
        "registration_not_a_condition",
        "16 CFR 701.4",
        full({Item.REGISTRATION: ""}),
    ),
    (
        "lifetime_beside_a_term",
        "16 CFR 239.4",
        promise({Item.COVERED: "Lifetime cover."}, term_months=120),
    ),
    ("tied_inspections", "16 CFR 700.10", promise(accepts_other_shops=False)),
    (
        "tied_work",
        "16 CFR 700.10",
        promise({Item.DUTIES: "Repairs are made only by our technicians."}),
    ),
]


@pytest.mark.parametrize(("code", "section", "broken"), ERRORS)
def test_names_the_one_rule_that_is_broken_with_its_section(code, section, broken):
    [result] = errors_of(broken)

    assert result.rule.code == code
    assert section in result.rule.citation


@pytest.mark.parametrize(("code", "section", "doubtful"), QUESTIONS)
def test_asks_where_the_law_leaves_it_to_the_office(code, section, doubtful):
    [result] = [r for r in check_promise(doubtful) if r.fault]

    assert (result.rule.code, result.rule.severity) == (code, Severity.QUESTION)
    assert section in result.rule.citation


def test_every_rule_is_broken_by_some_edition_above():
    assert {code for code, *_ in (*ERRORS, *QUESTIONS)} == {r.code for r in RULES}


def test_missing_items_are_all_listed():
    codes = failed(promise(dict.fromkeys(TEXTS, "")))

    assert {"covered", "exclusions", "remedy", "claim_procedure", "rights"} <= set(
        codes
    )


@pytest.mark.parametrize(
    ("item", "sentence"),
    [
        (Item.IMPLIED_LIMIT, IMPLIED_LIMIT_SENTENCE),
        (Item.CONSEQUENTIAL_LIMIT, CONSEQUENTIAL_LIMIT_SENTENCE),
    ],
)
def test_a_limit_with_its_sentence_passes(item, sentence):
    typed = sentence.upper().replace(" ", "\n ", 1)

    assert failed(promise({item: f"Two years at most.\n{typed}"})) == []


def test_an_implied_warranty_may_be_limited_to_the_term():
    # 15 USC 2308(b), M: a limit to the written warranty's length is allowed.
    limit = f"Implied warranties are limited to ten years. {IMPLIED_LIMIT_SENTENCE}"

    assert failed(promise({Item.IMPLIED_LIMIT: limit})) == []


def test_free_inspections_under_a_full_title_pass():
    assert failed(full(demands_inspections=True, inspections_free=True)) == []


@pytest.mark.parametrize(
    "sentence",
    [
        "Our decision is final",
        "The company's determination shall be binding on all parties.",
        "Cover is at our sole discretion.",
    ],
)
def test_the_last_word_is_found(sentence):
    # 16 CFR 700.8, M.
    assert says_the_last_word(sentence)


@pytest.mark.parametrize(
    "sentence", ["The final coat covers every seam.", "We decide within ten days."]
)
def test_a_final_coat_is_no_last_word(sentence):
    assert not says_the_last_word(sentence)


def test_a_fault_says_where_and_what_to_do():
    [result] = errors_of(promise({Item.REMEDY: ""}))

    assert result.fault.field == "remedy"
    assert result.fault.says == "Say what the company does and pays for."
