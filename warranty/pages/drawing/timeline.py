"""The course of a standing, drawn on a line of days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from django.utils.safestring import SafeString, mark_safe

from warranty.documents import wording
from warranty.pages.drawing.svg import element, text
from warranty.rules.timeline import Period

WIDTH: Final = 1000.0
_LEFT: Final = 8.0
_RIGHT: Final = 992.0
_TOP: Final = 30.0
_HEIGHT: Final = 34.0
_BASE: Final = _TOP + _HEIGHT
_VIEW_HEIGHT: Final = 118.0
_LABEL_ROOM: Final = 7.5  # a letter's width, to see whether a word fits in its bar
_MOST_YEARS_LABELLED: Final = 12
# How high a bar stands says what the promise is worth, without any colour.
_SHARE_OF_HEIGHT: Final[dict[str, float]] = {
    "PENDING": 0.35,
    "IN_FORCE": 1.0,
    "AT_RISK": 0.75,
    "SUSPENDED": 0.35,
    "ENDED": 0.1,
}


def timeline_svg(
    course: Sequence[Period],
    *,
    as_of: date,
    next_due_on: date | None,
    horizon: date,
) -> SafeString:
    """Return the drawing of a course from completion to the horizon.

    Its words stand in a list beside it; the drawing repeats them.
    """
    if not course:
        return mark_safe("")
    line = _Line(course[0].from_on, max(horizon, as_of))
    parts = [_patterns()]
    parts += [_bar(period, line) for period in course]
    parts.append(
        element("line", css="tl-base", x1=_LEFT, x2=_RIGHT, y1=_BASE, y2=_BASE)
    )
    parts += [_year(year, line) for year in line.years()]
    if next_due_on and line.first <= next_due_on <= line.last:
        parts.append(_due(next_due_on, line))
    parts.append(_asked(as_of, line))
    title = element("title", "Course of the standing", id="course-title")
    words = "; ".join(_words(period) for period in course)
    described = element("desc", f"{words}.", id="course-desc")
    return mark_safe(  # noqa: S308 - every word passed through svg.text or is ours
        element(
            "svg",
            title,
            described,
            *parts,
            css="timeline",
            viewbox=f"0 0 {WIDTH:g} {_VIEW_HEIGHT:g}",
            role="img",
            aria_labelledby="course-title course-desc",
        )
    )


def _words(period: Period) -> str:
    until = f"to {wording.on(period.until_on)}" if period.until_on else "on"
    word = wording.standing_word(period.standing.value)
    return f"{word} from {wording.on(period.from_on)} {until}"


class _Line:
    """Days on a line across the drawing."""

    def __init__(self, first: date, last: date) -> None:
        self.first, self.last = first, last
        self._days = max((last - first).days + 1, 1)

    def x(self, day: date) -> float:
        """Return where a day begins, kept on the line."""
        gone = min(max((day - self.first).days, 0), self._days)
        return _LEFT + (_RIGHT - _LEFT) * gone / self._days

    def years(self) -> range:
        """Return the years that begin on the line, thinned when there are many."""
        first, last = self.first.year + 1, self.last.year
        step = -(-max(last - first + 1, 1) // _MOST_YEARS_LABELLED)
        return range(first, last + 1, step)


def _bar(period: Period, line: _Line) -> str:
    start = line.x(period.from_on)
    end = line.x(period.until_on) if period.until_on else _RIGHT
    word = period.standing.value
    high = _HEIGHT * _SHARE_OF_HEIGHT[word]
    width = max(end - start, 1.5)
    place: dict[str, float] = {
        "x": start,
        "y": _BASE - high,
        "width": width,
        "height": high,
    }
    css = word.lower().replace("_", "-")
    parts = [element("rect", css=f"tl tl-{css}", **place)]
    if word == "AT_RISK":
        parts.append(element("rect", fill="url(#tl-hatch)", **place))
    label = wording.standing_word(word)
    if word == "IN_FORCE" and width > len(label) * _LABEL_ROOM + 8:
        parts.append(text(label, x=start + 6, y=_BASE - 12, css="tl-word"))
    return "".join(parts)


def _patterns() -> str:
    stroke = element("path", css="tl-hatch-line", d="M0 6L6 0")
    pattern = element(
        "pattern",
        stroke,
        id="tl-hatch",
        width=6,
        height=6,
        pattern_units="userSpaceOnUse",
    )
    return element("defs", pattern)


def _year(year: int, line: _Line) -> str:
    x = line.x(date(year, 1, 1))
    tick = element("line", css="tl-tick", x1=x, x2=x, y1=_BASE, y2=_BASE + 6)
    return tick + text(str(year), x=x, y=_BASE + 22, css="tl-year", anchor="middle")


def _due(day: date, line: _Line) -> str:
    x = line.x(day)
    mark = element("path", css="tl-due", d=f"M{x:.1f} {_BASE + 28:.1f}l6 10h-12z")
    words = f"next due {wording.on(day)}"
    return mark + _beside(words, x, _BASE + 38)


def _asked(day: date, line: _Line) -> str:
    x = line.x(day)
    stem = element("line", css="tl-asked", x1=x, x2=x, y1=_TOP - 8, y2=_BASE + 4)
    words = f"day asked: {wording.on(day)}"
    return stem + _beside(words, x, _TOP - 14)


def _beside(words: str, x: float, y: float) -> str:
    """Return words at a place, to its left where the drawing ends."""
    if x > WIDTH / 2:
        return text(words, x=x - 9, y=y, css="tl-note", anchor="end")
    return text(words, x=x + 9, y=y, css="tl-note")
