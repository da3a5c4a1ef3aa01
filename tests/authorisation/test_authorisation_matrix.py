"""Nobody gets, sees, writes or guesses what is not theirs.

A cell with an id that the caller may not know must be answered, byte for byte, as one
with an id that nobody has. By itself a part of the matrix is asked, chosen by a seed
(AUTHORISATION_SEED); ``make drills`` asks all of it.
"""

from __future__ import annotations

import logging
import os
import random

import pytest

from fleet.models import Roof
from fleet.wall import whole
from tests.authorisation.cells import CALLERS, Cell, cells, leak_of, row_of
from tests.authorisation.routes import operations
from tests.authorisation.rows import ROWS
from tests.authorisation.world import make_world
from tests.builders import NOON

ASKED = os.environ.get("AUTHORISATION_CELLS", "600")
# A part of an operation's name, to look closer: AUTHORISATION_ONLY=/claims/.
ONLY = os.environ.get("AUTHORISATION_ONLY", "")
SEED = int(os.environ.get("AUTHORISATION_SEED", "6"))
WHOLE = 10_000

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def still_clock(monkeypatch) -> None:
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOON)
    # Thousands of refusals are what is asked for: none needs a line.
    monkeypatch.setattr(logging.getLogger("django.request"), "disabled", True)


def test_every_route_has_a_row_and_every_row_a_route():
    """Failing for a new route? Say in rows.py who may use it."""
    missing = [str(each) for each in operations() if row_of(each) is None]
    known = {str(each) for each in operations()}
    known |= {f"PAGE /{each.address}" for each in operations()}

    assert missing == []
    assert set(ROWS) - known == set()


@pytest.mark.slow
def test_no_cell_leaks():
    world = make_world()
    matrix = list(cells(world))
    assert len(matrix) >= WHOLE
    asked = matrix if ASKED == "all" else chosen(matrix)
    asked = [cell for cell in asked if ONLY in str(cell.operation)]

    leaks = {str(cell): leak for cell in asked if (leak := leak_of(cell, world))}

    report = "\n".join(f"{cell}: {leak}" for cell, leak in leaks.items())
    assert not leaks, f"{len(leaks)} of {len(asked)} cells leak:\n{report}"


def chosen(matrix: list[Cell]) -> list[Cell]:
    """Return a part of the matrix, with every operation in it."""
    rng = random.Random(SEED)  # noqa: S311 - a choice of tests
    by_operation: dict[object, list[Cell]] = {}
    for cell in matrix:
        by_operation.setdefault(cell.operation, []).append(cell)
    each = [rng.choice(some) for some in by_operation.values()]
    return each + rng.sample(matrix, max(0, int(ASKED) - len(each)))


@pytest.mark.slow
class TestThePlantedLeaks:
    """The matrix finds what it is there to find."""

    def leaks(self, address: str, world) -> set[str]:
        found = set()
        for cell in cells(world):
            is_asked = cell.operation.address == address and cell.who == "manager"
            if is_asked and cell.operation.method == "GET":
                found |= {cell.ids} if leak_of(cell, world) else set()
        return found

    def test_a_selector_that_forgets_the_scope(self, monkeypatch):
        def all_roofs(self):
            return Roof.objects.select_related("coach", "coach__holder")

        world = make_world()
        monkeypatch.setattr("fleet.api.roofs.RoofViewSet.get_queryset", all_roofs)
        monkeypatch.setattr("fleet.api.base.see_only", lambda scope: None)
        monkeypatch.setattr("config.middleware.see_only", lambda scope: None)
        monkeypatch.setattr("config.middleware.at_the_door", whole)
        monkeypatch.setattr("fleet.api.base.at_the_door", whole)

        assert "foreign" in self.leaks("api/v1/roofs/<uuid:uuid>", world)

    def test_nobody_is_left_out(self):
        world = make_world()

        assert set(CALLERS) == set(world.clients)
