"""The table of variables in DEVELOPERS.md names exactly what the code reads."""

from __future__ import annotations

import re

from django.conf import settings

NAME = re.compile(r"\bROOFREG_[A-Z0-9_]+\b")
ROW = re.compile(r"^\|\s*`(ROOFREG_[A-Z0-9_]+)`\s*\|", re.MULTILINE)
READERS = ("config", "fleet", "warranty", "jobs", "tests")


def names_in_code() -> set[str]:
    """Return every variable that a Python file of the project names."""
    files = [
        path for room in READERS for path in (settings.BASE_DIR / room).rglob("*.py")
    ]
    return {name for path in files for name in NAME.findall(path.read_text())}


def test_the_table_names_every_variable_and_no_other():
    table = (settings.BASE_DIR / "DEVELOPERS.md").read_text()

    assert set(ROW.findall(table)) == names_in_code()
