"""Words for values: dates, instants, money, measures, standings and verdicts."""

from __future__ import annotations

import re
from datetime import date, datetime

from warranty.documents.facts import StandingFacts

NOT_RECORDED = "not recorded"
UM_PER_MIL = 25.4  # exact; NIST Handbook 44, appendix C
M_PER_FT = 0.3048  # exact; NIST Handbook 44, appendix C
ML_PER_US_GALLON = 3785.411784  # exact; NIST Handbook 44, appendix C

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

_INITIALS = frozenset({"EPDM", "TPO", "PVC", "VIN"})
_STORED_WORDS = re.compile(r"[a-z]+(?:_[a-z]+)+")
_STANDING_WORDS = {
    "PENDING": "pending",
    "IN_FORCE": "in force",
    "AT_RISK": "at risk",
    "SUSPENDED": "suspended",
    "ENDED": "ended",
}
_STANDING_SENTENCES = {
    "PENDING": "On the day of loss the promise was not yet in force.",
    "IN_FORCE": "On the day of loss the promise was in force.",
    "AT_RISK": "On the day of loss the promise was in force, and at risk.",
    "SUSPENDED": "On the day of loss the promise was suspended.",
    "ENDED": "On the day of loss the promise had ended.",
}
_VERDICT_WORDS = {
    "MET": "met",
    "NOT_MET": "not met",
    "UNKNOWN": "not known",
}


def on(day: date | None, *, missing: str = NOT_RECORDED) -> str:
    """Return a civil date in words, e.g. ``8 April 2026``."""
    if day is None:
        return missing
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def short_on(day: date | None, *, missing: str = "—") -> str:
    """Return a civil date for a table, e.g. ``2026-04-08``."""
    return missing if day is None else day.isoformat()


def at(moment: datetime) -> str:
    """Return an instant with its own offset, e.g. ``2026-04-08 14:03 -05:00``."""
    offset = moment.strftime("%z")
    shown = f"{offset[:3]}:{offset[3:5]}" if offset else "(offset not recorded)"
    return f"{moment:%Y-%m-%d %H:%M} {shown}"


def money(cents: int | None, currency: str) -> str:
    """Return integer cents as an amount, e.g. ``USD 1,780.00``; no float is used."""
    if cents is None:
        return NOT_RECORDED
    units, rest = divmod(abs(cents), 100)
    sign = "-" if cents < 0 else ""
    return f"{currency} {sign}{units:,}.{rest:02d}"


def number(value: float | None, digits: int = 1, *, missing: str = "—") -> str:
    """Return a number with a fixed count of decimals; a dash where there is none."""
    if value is None:
        return missing
    shown = f"{value:.{digits}f}"
    # "-0.0" reads as a measured negative; it is a rounded zero.
    return shown.removeprefix("-") if float(shown) == 0 else shown


def mil_and_um(mil: float | None, *, missing: str = NOT_RECORDED) -> str:
    """Return a film thickness in both units, e.g. ``12.5 mil (318 µm)``."""
    if mil is None:
        return missing
    return f"{mil:.1f} mil ({mil * UM_PER_MIL:.0f} µm)"


def m_and_ft(metres: float) -> str:
    """Return a length in both units, e.g. ``9.14 m (30.0 ft)``."""
    return f"{metres:.2f} m ({metres / M_PER_FT:.1f} ft)"


def litres_and_gal(volume_l: float | None) -> str:
    """Return a volume in both units, e.g. ``14.1 L (3.72 US gal)``."""
    if volume_l is None:
        return NOT_RECORDED
    return f"{volume_l:.1f} L ({volume_l * 1000 / ML_PER_US_GALLON:.2f} US gal)"


def readable(word: str) -> str:
    """Return a stored word as it is read: ``last_inspection`` → ``last inspection``."""
    if word in _INITIALS:
        return word
    if word.isupper() or _STORED_WORDS.fullmatch(word):
        return word.replace("_", " ").lower()
    return word


def next_due(standing: StandingFacts) -> str:
    """Return the next due date; a promise that has ended has none to show."""
    if standing.word == "ENDED":
        return "none, the promise has ended"
    return on(standing.next_due_on, missing="none")


def standing_word(word: str) -> str:
    """Return a standing in lower-case words."""
    return _STANDING_WORDS.get(word, readable(word))


def standing_sentence(word: str) -> str:
    """Return the sentence that says what the promise was worth."""
    return _STANDING_SENTENCES.get(
        word, f"On the day of loss the standing was {standing_word(word)}."
    )


def verdict_word(verdict: str, *, is_waived: bool = False) -> str:
    """Return a verdict in words; a waived clause says so."""
    word = _VERDICT_WORDS.get(verdict, readable(verdict))
    return f"{word} (waived)" if is_waived else word


def place(
    place_label: str, x_m: float | None, y_m: float | None, *, missing: str = "—"
) -> str:
    """Return a place on the roof: its label, its position, or both."""
    if x_m is None or y_m is None:
        return place_label or missing
    position = f"x {x_m:.2f} m, y {y_m:.2f} m"
    return f"{place_label} ({position})" if place_label else position


def coat_named(coat: str) -> str:
    """Return a coat's name to start a heading with; the word coat stands in it once."""
    name = readable(coat).capitalize()
    return name if name.endswith("coat") else f"{name} coat"


_OUTCOME_SENTENCES = {
    "APPROVED": "The claim was approved.",
    "IN_PART": "The claim was approved in part.",
    "DECLINED": "On the records known then, the claim could not be approved.",
}
_CAUSE_WORDS = {
    "film": "the film itself",
    "detail": "the sealing around a penetration or seam",
    "adhesion": "the film had come loose from what lies under it",
    "substrate": "the deck or skin under the film had given way",
    "impact": "something struck the roof",
    "alteration": "something fitted to the roof later",
    "not-roof": "the water did not come through the roof",
    "condensation": "condensation, not a leak",
    "unknown": "not known",
}


def outcome_sentence(outcome: str) -> str:
    """Return the sentence that says what was decided."""
    return _OUTCOME_SENTENCES.get(outcome, f"The outcome was {readable(outcome)}.")


def cause_words(cause: str) -> str:
    """Return what let the water in, in words."""
    return _CAUSE_WORDS.get(cause, cause)
