"""No page builds its own paragraph or draws its own text: one door for all words."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import warranty.documents

ROOM = Path(warranty.documents.__file__).parent
DOORS_OF_REPORTLAB = {
    "Paragraph",
    "Preformatted",
    "XPreformatted",
    "String",
    "Label",
    "Image",
    "drawString",
    "drawRightString",
    "drawCentredString",
    "drawAlignedString",
    "beginText",
    "textOut",
    "textLine",
    "textLines",
    "drawImage",
    "drawInlineImage",
}
MODULES = sorted(path for path in ROOM.glob("*.py") if path.name != "text.py")


# Photos have a door of their own.
ALLOWED_ALSO = {"picture.py": {"drawImage"}}


def called_name(node: ast.Call) -> str:
    if isinstance(node.func, ast.Attribute):
        return node.func.attr
    return node.func.id if isinstance(node.func, ast.Name) else ""


def forbidden_calls(source: str) -> list[str]:
    calls = [n for n in ast.walk(ast.parse(source)) if isinstance(n, ast.Call)]
    return [
        f"{called_name(call)} in line {call.lineno}"
        for call in calls
        if called_name(call) in DOORS_OF_REPORTLAB
    ]


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.name)
def test_only_the_text_module_makes_text(module):
    allowed = ALLOWED_ALSO.get(module.name, set())

    calls = forbidden_calls(module.read_text("utf-8"))

    assert [call for call in calls if call.split()[0] not in allowed] == []


def test_the_check_sees_a_bare_paragraph():
    assert forbidden_calls("x = platypus.Paragraph(name, style)") != []
    assert forbidden_calls("canvas.drawString(0, 0, name)") != []


IMPORTS_ALLOWED = ("reportlab", "numpy", "warranty.documents", "warranty.rules")


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.name)
def test_imports_nothing_of_the_database_the_settings_or_the_clock(module):
    tree = ast.parse(module.read_text("utf-8"))
    modules = [n.module for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)]
    plain = [n for n in ast.walk(tree) if isinstance(n, ast.Import)]
    names = {alias.name for node in plain for alias in node.names}

    ours_and_theirs = [
        name
        for name in modules
        if name and name.split(".")[0] in {"django", "fleet", "warranty", "jobs"}
    ]

    assert all(name.startswith(IMPORTS_ALLOWED) for name in ours_and_theirs)
    assert names <= {"re"}
    assert not {"time", "os", "random", "logging"} & set(modules)
    assert ".now(" not in module.read_text("utf-8")
