"""What let the water in: the cause codes of findings and claims."""

from __future__ import annotations

import re
from enum import StrEnum
from typing import Final


class Cause(StrEnum):
    """The kind of fault that was found. Common practice, no source."""

    FILM = "film"
    DETAIL = "detail"
    ADHESION = "adhesion"
    SUBSTRATE = "substrate"
    IMPACT = "impact"
    ALTERATION = "alteration"
    NOT_ROOF = "not-roof"
    CONDENSATION = "condensation"
    UNKNOWN = "unknown"


# Water that did not come through the roof: no promise about the roof answers for it.
OUTSIDE_THE_ROOF: Final = frozenset({Cause.NOT_ROOF, Cause.CONDENSATION})
# Finer codes of findings, and words that records use where no code was asked.
_WORDS: Final[dict[str, Cause]] = {
    **{cause.value: cause for cause in Cause},
    "thin": Cause.FILM,
    "holiday": Cause.FILM,
    "wear": Cause.FILM,
    "flashing": Cause.DETAIL,
    "fastener": Cause.DETAIL,
    "sealant": Cause.DETAIL,
    "flange": Cause.DETAIL,
    "lifted": Cause.ADHESION,
    "lifting": Cause.ADHESION,
    "blister": Cause.ADHESION,
    "soft": Cause.SUBSTRATE,
    "moved": Cause.SUBSTRATE,
    "branch": Cause.IMPACT,
    "hail": Cause.IMPACT,
    "strike": Cause.IMPACT,
    "fitted": Cause.ALTERATION,
}
_WORD: Final = re.compile(r"[a-z]+(?:-[a-z]+)*")


def cause_of(code: str) -> Cause:
    """Return the cause that a finding's code stands for.

    Parameters
    ----------
    code : str
        A code, or a few words of a record; the first word that names a cause counts.

    Returns
    -------
    Cause
        `UNKNOWN` when no word names one.
    """
    words = _WORD.findall(code.lower())
    return next((_WORDS[word] for word in words if word in _WORDS), Cause.UNKNOWN)
