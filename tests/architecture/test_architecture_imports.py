"""The walls between the rooms stand, and each of them bites."""

from __future__ import annotations

import configparser
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

ROOMS = ("config", "fleet", "warranty", "jobs")
# Every app has these, and they follow Django's rules rather than ours.
NO_ROOM = frozenset({"__init__", "__pycache__", "apps", "migrations"})

pytestmark = pytest.mark.slow

VIOLATIONS = [
    ("arrow", "jobs/clock.py", "import jobs.tasks"),
    ("arrow", "fleet/selectors/planted.py", "import fleet.actions.recording"),
    ("arrow", "jobs/relay.py", "import jobs.pages.planted"),
    ("arrow", "jobs/bell.py", "import config.settings"),
    ("fleet", "fleet/actions/planted.py", "import jobs.runs"),
    ("fleet", "fleet/models/planted.py", "import warranty.models"),
    ("fleet_interface", "fleet/pages/planted.py", "import warranty.rules.standing"),
    ("warranty", "warranty/actions/planted.py", "import jobs.runs"),
    ("purity", "fleet/film/planted.py", "import django.utils.timezone"),
    ("purity", "fleet/vin.py", "import redis"),
    ("purity", "warranty/rules/planted.py", "import reportlab.pdfgen"),
    ("documents", "warranty/documents/planted.py", "import django.conf"),
    ("domain", "fleet/actions/planted.py", "import rest_framework.exceptions"),
    ("domain", "warranty/selectors/planted.py", "import celery"),
]


def lint(tree: Path) -> subprocess.CompletedProcess[str]:
    """Run the import checker on one tree."""
    return subprocess.run(  # noqa: S603 - our own tool
        [Path(sys.executable).parent / "lint-imports", "--no-cache"],
        cwd=tree,
        capture_output=True,
        text=True,
        check=False,
    )


def contracts() -> dict[str, str]:
    """Return each contract's id with its name."""
    parser = configparser.ConfigParser()
    parser.read(settings.BASE_DIR / ".importlinter")
    prefix = "importlinter:contract:"
    return {
        section.removeprefix(prefix): parser[section]["name"]
        for section in parser.sections()
        if section.startswith(prefix)
    }


@pytest.fixture(scope="module")
def copied_tree(tmp_path_factory) -> Path:
    tree = tmp_path_factory.mktemp("tree")
    shutil.copy(settings.BASE_DIR / ".importlinter", tree)
    ignored = shutil.ignore_patterns("__pycache__", "static", "templates", "fonts")
    for room in ROOMS:
        shutil.copytree(settings.BASE_DIR / room, tree / room, ignore=ignored)
    (tree / "jobs" / "pages" / "planted.py").write_text("")
    return tree


def test_every_wall_stands():
    checked = lint(settings.BASE_DIR)

    assert checked.returncode == 0, checked.stdout


@pytest.mark.parametrize(("contract", "path", "line"), VIOLATIONS)
def test_a_planted_violation_is_found(copied_tree, contract, path, line):
    planted = copied_tree / path
    before = planted.read_text() if planted.exists() else None
    planted.write_text(f"{before or ''}\n{line}\n")

    try:
        checked = lint(copied_tree)
    finally:
        planted.unlink() if before is None else planted.write_text(before)

    assert checked.returncode == 1
    assert f"{contracts()[contract]} BROKEN" in checked.stdout


def test_every_wall_is_tried():
    assert {contract for contract, _, _ in VIOLATIONS} == set(contracts())


def test_no_import_is_excused():
    assert "ignore_imports" not in (settings.BASE_DIR / ".importlinter").read_text()


def test_every_module_stands_in_a_layer():
    parser = configparser.ConfigParser()
    parser.read(settings.BASE_DIR / ".importlinter")
    arrow = parser["importlinter:contract:arrow"]["layers"]
    named = set(re.split(r"[\s|:()]+", arrow))

    found = {
        f"{room}.{path.stem}"
        for room in ("fleet", "warranty", "jobs")
        for path in (settings.BASE_DIR / room).iterdir()
        if path.stem not in NO_ROOM
        and (path.suffix == ".py" or (path / "__init__.py").exists())
    }

    assert found - named == set()
