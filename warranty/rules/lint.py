"""Wording that a warranty or a letter about it must not use."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Final

_SENTENCE_ENDS: Final = re.compile(r"(?<=[.!?;])\s+|\n+")
_LAST_WORD: Final = re.compile(
    r"\b(?:final|binding|conclusive|irrevocable|not subject to (?:review|appeal))\b",
    re.IGNORECASE,
)
_A_DECISION: Final = re.compile(
    r"\b(?:decisions?|decide[sd]?|determin\w+|judge?ments?|discretion|findings? of the"
    r" company|rulings?|opinions?)\b",
    re.IGNORECASE,
)
_SOLE_DISCRETION: Final = re.compile(r"\bsole\s+(?:discretion|judge)\b", re.IGNORECASE)
_LIFETIME: Final = re.compile(r"\blife\s?-?time\b", re.IGNORECASE)
_IMPLIED: Final = re.compile(r"\bimplied warrant(?:y|ies)\b", re.IGNORECASE)
_DISCLAIMED: Final = re.compile(
    r"\b(?:disclaim\w*|exclud\w*|no|without|in lieu of)\b", re.IGNORECASE
)
# What limits an implied warranty's length, or only quotes that some States forbid it.
_ONLY_LIMITED: Final = re.compile(
    r"\b(?:limited (?:in duration )?to|some states|no longer than"
    r"|not (?:limit|exclude))",
    re.IGNORECASE,
)
_ONE_SHOP: Final = re.compile(
    r"\bonly\b.*\b(?:us|our|we|authori[sz]ed|approved)\b"
    r"|\b(?:us|our|authori[sz]ed|approved)\b.*\bonly\b"
    r"|\bunless\b.*\bby (?:us|our|an authori[sz]ed)\b"
    r"|\bvoid\b.*\b(?:other|another) (?:shop|person|company|brand)",
    re.IGNORECASE,
)
_WORK: Final = re.compile(
    r"\b(?:inspect\w*|repair\w*|clean\w*|serviced?|maint\w+|parts?|products?|sealant)\b",
    re.IGNORECASE,
)


def faults_in(text: str, is_fault: Callable[[str], bool]) -> Iterator[str]:
    """Yield the sentences of a text that a lint finds fault with."""
    for sentence in _SENTENCE_ENDS.split(text):
        if is_fault(sentence):
            yield sentence.strip()


def says_the_last_word(sentence: str) -> bool:
    """Return whether a sentence calls a decision final or binding.

    A "final coat" is no decision.

    References
    ----------
    .. [1] 16 CFR 700.8.
    """
    if _SOLE_DISCRETION.search(sentence):
        return True
    return bool(_LAST_WORD.search(sentence) and _A_DECISION.search(sentence))


def says_lifetime(sentence: str) -> bool:
    """Return whether a sentence speaks of a lifetime.

    References
    ----------
    .. [1] 16 CFR 239.4.
    """
    return bool(_LIFETIME.search(sentence))


def disclaims_implied_warranties(sentence: str) -> bool:
    """Return whether a sentence takes implied warranties away altogether.

    References
    ----------
    .. [1] 15 USC 2308.
    """
    if not _IMPLIED.search(sentence) or _ONLY_LIMITED.search(sentence):
        return False
    return bool(_DISCLAIMED.search(sentence))


def conditions_on_one_shop(sentence: str) -> bool:
    """Return whether a sentence ties care or repair to one shop or brand.

    References
    ----------
    .. [1] 16 CFR 700.10.
    """
    return bool(_WORK.search(sentence) and _ONE_SHOP.search(sentence))
