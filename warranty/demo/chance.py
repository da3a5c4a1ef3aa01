"""Dice that fall the same way for the same seed."""

from __future__ import annotations

from collections.abc import MutableSequence, Sequence
from datetime import date, timedelta
from random import Random
from typing import TypeVar
from uuid import UUID

from fleet.models import PrivateText

AnyThing = TypeVar("AnyThing")


class Chance:
    """The dice of one name: its throws do not depend on what others threw."""

    def __init__(self, seed: int, name: str) -> None:
        # An invented fleet must come out the same twice, so nothing secret is wanted.
        self._random = Random(f"{seed}/{name}")  # noqa: S311 - see above

    def uuid(self) -> UUID:
        """Return an id."""
        return UUID(int=self._random.getrandbits(128), version=4)

    def text(self, body: str) -> PrivateText:
        """Return a free text whose salt is thrown too: the ledger holds its hash."""
        salt = f"{self._random.getrandbits(128):032x}"
        return PrivateText(uuid=self.uuid(), salt=salt, body=body)

    def share(self) -> float:
        """Return a number in [0, 1)."""
        return self._random.random()

    def happens(self, share: float) -> bool:
        """Return whether something of this likelihood happens."""
        return self._random.random() < share

    def whole(self, low: int, high: int) -> int:
        """Return a whole number, both ends included."""
        return self._random.randint(low, high)

    def between(self, low: float, high: float) -> float:
        """Return a number between two."""
        return self._random.uniform(low, high)

    def around(self, mean: float, spread: float) -> float:
        """Return a normally distributed number."""
        return self._random.gauss(mean, spread)

    def pick(self, things: Sequence[AnyThing]) -> AnyThing:
        """Return one of the things."""
        return things[self._random.randrange(len(things))]

    def some(self, things: Sequence[AnyThing], count: int) -> list[AnyThing]:
        """Return different ones of the things, at most all of them."""
        return self._random.sample(things, min(count, len(things)))

    def shuffle(self, things: MutableSequence[AnyThing]) -> None:
        """Bring things out of order."""
        self._random.shuffle(things)

    def day(self, first: date, last: date) -> date:
        """Return a day between two, both included; the first when they are swapped."""
        return first + timedelta(days=self.whole(0, max(0, (last - first).days)))
