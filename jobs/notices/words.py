"""The shape of what is said, in each language."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from warranty.rules.ladder import Step


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """One step's sentences, with slots for coach, dates and claim."""

    subject: str
    what: str
    by: str = ""
    otherwise: str = ""
    short: str  # in a digest's table and in a text message


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Everything that is said in one language."""

    steps: Mapping[Step, Wording]
    # A standing that a serious finding has suspended has no last day.
    suspended_by_finding: Wording
    claims: Mapping[str, Wording]
    on: Callable[[date], str]
    greeting: str
    fleet_greeting: str
    several_subject: str
    digest_subject: str
    digest_opening: str
    table_heads: tuple[str, str, str, str]
    button: str
    fleet_button: str
    caution: str
    why_you: str
    law: str
    stop_label: str
    stop_note: str
    calendar_summary: str
    by_label: str
    otherwise_label: str
    none: str
