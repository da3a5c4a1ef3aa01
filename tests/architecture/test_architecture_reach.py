"""No interface reaches for rows past the selectors and actions of its room."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest
from django.conf import settings

# Rooms that ask through selectors and write through actions.
OUTSIDE = ("api", "pages", "documents")


def managers_named_in(path: Path) -> set[int]:
    """Return the lines that reach for a table's rows by themselves."""
    return {
        node.lineno
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Attribute)
        and node.attr in {"objects", "_default_manager", "_base_manager"}
    }


@pytest.mark.parametrize("app", ["fleet", "warranty", "jobs"])
@pytest.mark.parametrize("room", OUTSIDE)
def test_no_interface_reaches_past_selectors_and_actions(app, room):
    folder = settings.BASE_DIR / app / room

    found = {
        str(path.relative_to(settings.BASE_DIR)): lines
        for path in folder.rglob("*.py")
        if (lines := managers_named_in(path))
    }

    assert found == {}


def test_a_planted_reach_is_found(tmp_path):
    planted = tmp_path / "planted.py"
    planted.write_text("rows = Coach.objects.all()\n")

    assert managers_named_in(planted) == {1}
