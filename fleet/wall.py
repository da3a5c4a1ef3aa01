"""The second wall: what PostgreSQL's row security lets this piece of work touch.

The first wall is the scope that every query is narrowed by. This one stands in the
database and is told, statement by statement, how far the work at hand sees. Where
nothing was told, it lets nothing through. SQLite has no such wall.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from fleet.scope import Scope, Sight

View = TypeVar("View", bound=Callable[..., object])


class Gate(StrEnum):
    """How far the database lets a statement see."""

    NOTHING = ""
    DOOR = "door"  # who somebody is: people, keys, phones; no record of any coach
    OWN = "own"
    ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A gate, and for ``OWN`` whose rows."""

    gate: Gate
    owner_ids: tuple[int, ...] = ()

    @property
    def statement(self) -> str:
        """Return what is sent ahead of a statement.

        Also where nothing is to be seen: an earlier statement of the transaction may
        have seen more.
        """
        sight = f"SET LOCAL roofreg.sight = '{self.gate.value}'; "
        if self.gate is not Gate.OWN:
            return sight  # whose rows is only asked where that is the question
        owners = ",".join(str(int(each)) for each in self.owner_ids)
        return f"{sight}SET LOCAL roofreg.owners = '{owners}'; "


SHUT = Opening(gate=Gate.NOTHING)
AT_THE_DOOR = Opening(gate=Gate.DOOR)
WHOLE = Opening(gate=Gate.ALL)

_opening: ContextVar[Opening | None] = ContextVar("opening", default=None)
# What a thread sees that nobody told anything: nothing, unless the process is a
# command or a worker, which the register runs itself.
_of_process = SHUT


def opening() -> Opening:
    """Return how far the work at hand sees."""
    return _opening.get() or _of_process


def is_the_registers_own_process() -> None:
    """Let this process see everything: a command, or a worker of later work."""
    global _of_process
    _of_process = WHOLE


def opening_of(scope: Scope) -> Opening:
    """Return the opening that goes with a caller's scope."""
    if scope.sight is Sight.EVERYTHING:
        return WHOLE
    if scope.sight is Sight.OWN_COACHES:
        return Opening(gate=Gate.OWN, owner_ids=scope.owner_ids)
    return AT_THE_DOOR


def see_only(scope: Scope) -> None:
    """Narrow the rest of this request to a caller's scope."""
    _opening.set(opening_of(scope))


@contextmanager
def seeing(told: Opening) -> Iterator[None]:
    """Do one piece of work under an opening, then go back to the one before."""
    token = _opening.set(told)
    try:
        yield
    finally:
        _opening.reset(token)


@contextmanager
def at_the_door() -> Iterator[None]:
    """Find out who somebody is."""
    with seeing(AT_THE_DOOR):
        yield


@contextmanager
def whole() -> Iterator[None]:
    """Do the register's own work on rows that were found within the caller's scope."""
    with seeing(WHOLE):
        yield


def asks_nobody(view: View) -> View:
    """Mark a view that answers everybody alike: no cookie is read for it."""
    view.asks_nobody = True  # type: ignore[attr-defined]  # read by the middleware
    return view
