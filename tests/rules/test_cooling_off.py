"""The three business days of 16 CFR 429, on days reckoned beside a calendar."""

from __future__ import annotations

from datetime import date

import pytest

from warranty.rules.cooling_off import cancel_until, federal_holidays


@pytest.mark.parametrize(
    ("signed_on", "until"),
    [
        # 16 CFR 429.0: Saturday is a business day, Sunday and federal holidays are not.
        (date(2026, 6, 5), date(2026, 6, 9)),  # Friday to Tuesday
        (date(2026, 6, 6), date(2026, 6, 10)),  # Saturday to Wednesday
        (date(2026, 7, 1), date(2026, 7, 6)),  # over Saturday 4 July and the Sunday
        (date(2026, 6, 7), date(2026, 6, 10)),  # signed on a Sunday
        (date(2026, 12, 30), date(2027, 1, 4)),  # over New Year's Day and the Sunday
        (date(2026, 11, 24), date(2026, 11, 28)),  # over Thanksgiving
    ],
)
def test_counts_three_business_days_after_signing(signed_on, until):
    assert cancel_until(signed_on) == until


def test_the_holidays_of_a_year():
    """5 USC 6103(a), from memory; the days of 2026 read off a calendar."""
    assert federal_holidays(2026) == {
        date(2026, 1, 1),
        date(2026, 1, 19),
        date(2026, 2, 16),
        date(2026, 5, 25),
        date(2026, 6, 19),
        date(2026, 7, 4),
        date(2026, 9, 7),
        date(2026, 10, 12),
        date(2026, 11, 11),
        date(2026, 11, 26),
        date(2026, 12, 25),
    }
