"""The three answers a rule can give, as words and as column codes."""

from __future__ import annotations

from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray


class Verdict(StrEnum):
    """Whether a demand is met; *unknown* never counts as met."""

    MET = "MET"
    NOT_MET = "NOT_MET"
    UNKNOWN = "UNKNOWN"


# Columns hold one signed byte a verdict. Zero is UNKNOWN, so that a fresh column of
# zeros claims nothing.
UNKNOWN_CODE: Final = 0
MET_CODE: Final = 1
NOT_MET_CODE: Final = 2

VerdictCodes = NDArray[np.int8]

VERDICT_OF_CODE: Final[tuple[Verdict, Verdict, Verdict]] = (
    Verdict.UNKNOWN,
    Verdict.MET,
    Verdict.NOT_MET,
)
CODE_OF_VERDICT: Final[dict[Verdict, int]] = {
    verdict: code for code, verdict in enumerate(VERDICT_OF_CODE)
}


def worst(verdicts: tuple[Verdict, ...]) -> Verdict:
    """Return the verdict of demands that must all be met.

    One `NOT_MET` decides; else one `UNKNOWN` (or no demand at all) leaves the whole
    unknown; else `MET`.
    """
    if Verdict.NOT_MET in verdicts:
        return Verdict.NOT_MET
    if not verdicts or Verdict.UNKNOWN in verdicts:
        return Verdict.UNKNOWN
    return Verdict.MET
