"""Draw how many roofs a what-if moves from which standing to which."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

from django.utils.safestring import SafeString, mark_safe

from warranty.documents import wording
from warranty.pages.drawing.svg import element, text
from warranty.rules.clause import STANDINGS

_CELL, _LEFT, _TOP = 96.0, 120.0, 56.0
_SMALLEST, _LARGEST = 8.0, 64.0


def moves_svg(moves: Mapping[tuple[str, str], int]) -> SafeString:
    """Return a table of squares: rows from, columns to, area as many as moved.

    What stays as it is lies on the diagonal and is drawn hollow.
    """
    words = [standing.value for standing in STANDINGS]
    most = max(moves.values(), default=1)
    side = _CELL * len(words)
    parts = [
        text("now", x=_LEFT - 14, y=_TOP - 14, css="mv-axis", anchor="end"),
        text("under the draft", x=_LEFT, y=16, css="mv-axis"),
    ]
    for place, word in enumerate(words):
        middle = _CELL * (place + 0.5)
        said = wording.standing_word(word)
        parts.append(
            text(said, x=_LEFT + middle, y=_TOP - 14, css="mv-word", anchor="middle")
        )
        parts.append(
            text(said, x=_LEFT - 14, y=_TOP + middle + 5, css="mv-word", anchor="end")
        )
        parts.append(_line(_LEFT, _TOP + _CELL * place, _LEFT + side))
    parts.append(_line(_LEFT, _TOP + side, _LEFT + side))
    for row, old in enumerate(words):
        for column, new in enumerate(words):
            count = moves.get((old, new), 0)
            if count:
                parts.append(_square(row, column, count, most))
    drawn = element(
        "svg",
        element("title", "Roofs by their standing now and under the draft"),
        *parts,
        css="moves",
        viewbox=f"0 0 {_LEFT + side:.0f} {_TOP + side + 8:.0f}",
        role="img",
    )
    return mark_safe(drawn)  # noqa: S308 - every word in it went through escape


def _square(row: int, column: int, count: int, most: int) -> str:
    size = max(_LARGEST * sqrt(count / most), _SMALLEST)
    x, y = _LEFT + _CELL * (column + 0.5), _TOP + _CELL * (row + 0.5)
    kind = "mv-same" if row == column else "mv-moved"
    box = element(
        "rect",
        x=x - size / 2,
        y=y - size / 2 - 8,
        width=size,
        height=size,
        css=f"mv {kind}",
    )
    label = text(
        f"{count:,}", x=x, y=y + _CELL / 2 - 6, css="mv-count", anchor="middle"
    )
    return box + label


def _line(x: float, y: float, to_x: float) -> str:
    return element("line", x1=x, y1=y, x2=to_x, y2=y, css="mv-line")
