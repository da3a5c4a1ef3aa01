"""The standing through time: one bar from completion, with the day of loss marked.

Each standing has a bar of its own height and filling, so it can be told apart on a
grey printer; the words stand in the table under the drawing.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from reportlab.graphics.shapes import Drawing, Line, Path, Rect
from reportlab.lib.colors import Color, HexColor

from warranty.documents.facts import DueDateFacts, StandingSegmentFacts
from warranty.documents.style import INK, PAPER, RULE_STRONG, SOFT
from warranty.documents.text import label
from warranty.documents.typeface import BOLD, SANS
from warranty.documents.wording import on, standing_word

_HEIGHT = 84.0  # [pt]
_BASE = 34.0  # foot of the bars [pt]
_FULL = 22.0  # height of the tallest bar [pt]
_MOST_YEARS_NAMED = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mark:
    height_ratio: float
    ink: Color


_MARKS = {
    "IN_FORCE": _Mark(height_ratio=1.0, ink=HexColor("#739f9f")),
    "AT_RISK": _Mark(height_ratio=0.72, ink=HexColor("#d9c08a")),
    "PENDING": _Mark(height_ratio=0.5, ink=HexColor("#e6e2d8")),
    "SUSPENDED": _Mark(height_ratio=0.36, ink=HexColor("#d9a184")),
    "ENDED": _Mark(height_ratio=0.12, ink=HexColor("#6b6a8f")),
}
_OTHER = _Mark(height_ratio=0.5, ink=PAPER)


def timeline_drawing(
    segments: tuple[StandingSegmentFacts, ...],
    *,
    loss_on: date,
    width_pt: float,
    due_dates: tuple[DueDateFacts, ...] = (),
) -> Drawing:
    """Return the bar of standings with years, due dates and the day of loss.

    Parameters
    ----------
    segments : tuple of StandingSegmentFacts
        In date order; at least one.
    loss_on : date
        The day of loss; left out when it lies outside the segments.
    width_pt : float
        Width of the drawing. [pt]
    due_dates : tuple of DueDateFacts
        A triangle each under the bar, filled when it was kept.
    """
    # Named, else a drawing starts with an un-embedded font.
    drawing = Drawing(width_pt, _HEIGHT, initialFontName=SANS)
    first, last = segments[0].from_on, max(s.until_on for s in segments)
    days = max((last - first).days + 1, 1)

    def x(day: date) -> float:
        return min(max((day - first).days / days, 0.0), 1.0) * width_pt

    for segment in segments:
        mark = _MARKS.get(segment.word, _OTHER)
        left = x(segment.from_on)
        right = x(segment.until_on) + width_pt / days
        _add_bar(drawing, left, min(right, width_pt), mark, segment.word)
    drawing.add(Line(0, _BASE, width_pt, _BASE, strokeColor=INK, strokeWidth=0.6))
    for due in due_dates:
        if first <= due.due_on <= last:
            _add_due(drawing, x(due.due_on), is_kept=due.satisfied_on is not None)
    years = range(first.year + 1, last.year + 1)
    for year in years:
        at = x(date(year, 1, 1))
        drawing.add(
            Line(at, _BASE - 12, at, _BASE - 15, strokeColor=SOFT, strokeWidth=0.5)
        )
        if len(years) <= _MOST_YEARS_NAMED or year % 5 == 0:
            drawing.add(label(at, 10, str(year), size=6.4, color=SOFT, anchor="middle"))
    if first <= loss_on <= last:
        _add_loss(drawing, x(loss_on), loss_on)
    return drawing


def _add_bar(
    drawing: Drawing, left: float, right: float, mark: _Mark, word: str
) -> None:
    height = _FULL * mark.height_ratio
    drawing.add(
        Rect(
            left,
            _BASE,
            right - left,
            height,
            fillColor=mark.ink,
            strokeColor=PAPER,
            strokeWidth=0.4,
        )
    )
    words = standing_word(word)
    if right - left > 5.5 * len(words) and height > 9:
        drawing.add(
            label(
                (left + right) / 2,
                _BASE + height / 2 - 2.4,
                words,
                size=6.8,
                color=INK,
                anchor="middle",
            )
        )


def _add_due(drawing: Drawing, x: float, *, is_kept: bool) -> None:
    triangle = Path(
        fillColor=INK if is_kept else PAPER, strokeColor=INK, strokeWidth=0.7
    )
    triangle.moveTo(x, _BASE - 2)
    triangle.lineTo(x - 3, _BASE - 8)
    triangle.lineTo(x + 3, _BASE - 8)
    triangle.closePath()
    drawing.add(triangle)


def _add_loss(drawing: Drawing, x: float, loss_on: date) -> None:
    top = _BASE + _FULL + 8
    drawing.add(Line(x, _BASE - 12, x, top, strokeColor=PAPER, strokeWidth=3))
    drawing.add(Line(x, _BASE - 12, x, top, strokeColor=INK, strokeWidth=1.2))
    anchor = "middle"
    if x < 70:
        anchor = "start"
    elif x > drawing.width - 70:
        anchor = "end"
    drawing.add(
        label(
            x,
            top + 4,
            f"day of loss, {on(loss_on)}",
            size=7,
            color=INK,
            font_name=BOLD,
            anchor=anchor,
        )
    )
    drawing.add(
        Line(
            0,
            _BASE - 12,
            drawing.width,
            _BASE - 12,
            strokeColor=RULE_STRONG,
            strokeWidth=0.4,
        )
    )
