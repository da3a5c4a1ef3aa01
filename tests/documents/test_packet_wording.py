"""Values in words: stored words, instants, rounded zeros and both units."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from warranty.documents.wording import (
    at,
    coat_named,
    litres_and_gal,
    m_and_ft,
    mil_and_um,
    number,
    readable,
    verdict_word,
)


@pytest.mark.parametrize(
    ("stored", "read"),
    [
        ("LAST_INSPECTION", "last inspection"),
        ("last_inspection", "last inspection"),
        ("rental_fleet", "rental fleet"),
        ("EPDM", "EPDM"),
        ("ALUMINIUM", "aluminium"),
        ("Vent by the door", "Vent by the door"),
        ("", ""),
    ],
)
def test_stored_words_are_read_as_words(stored, read):
    assert readable(stored) == read


def test_an_instant_keeps_its_own_offset():
    evening = datetime(2026, 3, 1, 22, 5, tzinfo=timezone(timedelta(hours=-6)))

    assert at(evening) == "2026-03-01 22:05 -06:00"
    assert at(evening.astimezone(UTC)) == "2026-03-02 04:05 +00:00"


def test_an_instant_without_an_offset_says_so():
    assert at(datetime(2026, 3, 1, 22, 5)).endswith("(offset not recorded)")  # noqa: DTZ001 - the case under test


def test_a_rounded_zero_has_no_sign():
    assert number(-0.04) == "0.0"
    assert number(-0.06) == "-0.1"


def test_a_missing_number_is_a_dash():
    assert number(None) == "—"


# Published equalities: NIST Handbook 44, appendix C (from memory).
def test_both_units_agree():
    assert mil_and_um(12.0) == "12.0 mil (305 µm)"
    assert m_and_ft(3.048) == "3.05 m (10.0 ft)"
    assert litres_and_gal(3.785411784) == "3.8 L (1.00 US gal)"


def test_a_waived_clause_says_so():
    assert verdict_word("MET", is_waived=True) == "met (waived)"
    assert verdict_word("UNKNOWN") == "not known"


@pytest.mark.parametrize(
    ("coat", "named"), [("base", "Base coat"), ("finish coat", "Finish coat")]
)
def test_a_heading_names_the_word_coat_once(coat, named):
    assert coat_named(coat) == named
