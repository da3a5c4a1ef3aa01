"""Ranges that inputs must lie in, and the sentence said when they do not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.film.errors import FilmInputError

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """A range of finite numbers, with or without its ends.

    Parameters
    ----------
    low, high : float
        Ends of the range; an infinite end is never itself allowed.
    low_in, high_in : bool, default True
        Whether an end belongs to the range.
    """

    low: float = -np.inf
    high: float = np.inf
    low_in: bool = True
    high_in: bool = True

    @property
    def text(self) -> str:
        """The range as people write it, e.g. ``in (0, 1]`` or ``>= 0``."""
        if np.isinf(self.low) and np.isinf(self.high):
            return "finite"
        if np.isinf(self.high):
            return f"{'>=' if self.low_in else '>'} {self.low:g}"
        if np.isinf(self.low):
            return f"{'<=' if self.high_in else '<'} {self.high:g}"
        opening = "[" if self.low_in else "("
        closing = "]" if self.high_in else ")"
        return f"in {opening}{self.low:g}, {self.high:g}{closing}"

    def allows(self, value: float | FloatArray) -> NDArray[np.bool_]:
        """Return where `value` is finite and inside the range."""
        number = np.asarray(value, dtype=np.float64)
        above = number >= self.low if self.low_in else number > self.low
        below = number <= self.high if self.high_in else number < self.high
        allowed: NDArray[np.bool_] = np.isfinite(number) & above & below
        return allowed

    def require(
        self,
        name: str,
        value: float | FloatArray,
        *,
        error: type[ValueError] = FilmInputError,
    ) -> None:
        """Raise `error`, naming argument, range and first bad value, unless inside."""
        allowed = self.allows(value)
        if allowed.all():
            return
        number = np.atleast_1d(np.asarray(value, dtype=np.float64))
        first = float(number[~np.atleast_1d(allowed)][0])
        raise error(
            f"{name} must be finite and {self.text}, got {first:g}. "
            "Correct the value and try again."
        )


AT_LEAST_ZERO = Bounds(low=0.0)
ABOVE_ZERO = Bounds(low=0.0, low_in=False)
SHARE = Bounds(low=0.0, high=1.0)
SHARE_ABOVE_ZERO = Bounds(low=0.0, high=1.0, low_in=False)
SHARE_BELOW_ONE = Bounds(low=0.0, high=1.0, high_in=False)
