"""The one door for text: every word on a page or a drawing passes through here.

Names, descriptions and labels come from people. Markup in them is printed as it was
typed, never obeyed; what cannot be seen or drawn is shown by its code (``<U+202E>``).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from textwrap import wrap

from reportlab.graphics.shapes import String
from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph
from reportlab.platypus.paraparser import ParaFrag

from warranty.documents.typeface import BOLD, MONO, SANS, drawable

_MU, _MICRO = "\u03bc", "\u00b5"
# Controls, format characters (bidi overrides, joiners), surrogates, private and
# unassigned code points, line and paragraph separators.
_UNSEEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
_RIGHT_TO_LEFT = frozenset({"R", "AL"})
_LINE_ENDS = re.compile(r"\r\n?")
_CUT_ESCAPE = re.compile(r"<(?:U(?:\+[0-9A-F]*)?)?$")
_MONO_RATIO = 0.76  # the fixed-width face runs wider
_MOST_CLIPPED = 400  # no running line or label is wider than so many characters
_KEPT_TOGETHER = 60  # a right-to-left run up to this long is not broken over lines


@dataclass(frozen=True, slots=True)
class Strong:
    """A piece of text set in bold."""

    text: str


@dataclass(frozen=True, slots=True)
class Mono:
    """A piece of text set in the fixed-width face, for hashes and codes."""

    text: str


Words = str | Strong | Mono | tuple[str | Strong | Mono, ...]


def visible(text: str, font_name: str = SANS) -> str:
    """Return the text as it can be drawn: nothing in it is hidden or lost.

    Parameters
    ----------
    text : str
        Any text, lone surrogates included.
    font_name : str, default ``SANS``
        The typeface it will be drawn in.

    Returns
    -------
    str
        Composed text (NFC); micro sign for Greek mu; codes such as ``<U+1F600>``
        for characters that are invisible or not in the typeface; line ends kept.
    """
    text = _LINE_ENDS.sub("\n", text).replace("\t", " ").replace(_MU, _MICRO)
    if text.isascii() and text.replace("\n", " ").isprintable():
        return text
    known = drawable(font_name)
    return "".join(_shown(c, known) for c in unicodedata.normalize("NFC", text))


def _shown(character: str, known: frozenset[int]) -> str:
    if character == "\n":
        return character
    if unicodedata.category(character) in _UNSEEN or ord(character) not in known:
        return f"<U+{ord(character):04X}>"
    return character


def in_drawing_order(text: str) -> str:
    """Return the text with its right-to-left runs turned round, as they are read.

    ReportLab draws characters from left to right. A run starts and ends with a
    right-to-left letter; marks stay behind their letter. Letters are not joined.
    """
    if text.isascii():
        return text
    return "\n".join(_turned(line) for line in text.split("\n"))


def _turned(line: str) -> str:
    ends = [unicodedata.bidirectional(c) in _RIGHT_TO_LEFT for c in line]
    out: list[str] = []
    at = 0
    while at < len(line):
        if not ends[at]:
            out.append(line[at])
            at += 1
            continue
        last = at
        stop = at
        while stop < len(line) and unicodedata.bidirectional(line[stop]) not in {
            "L",
            "EN",
            "AN",
        }:
            last = stop if ends[stop] or unicodedata.combining(line[stop]) else last
            stop += 1
        out.append(_reversed_run(line[at : last + 1]))
        at = last + 1
    return "".join(out)


def _reversed_run(run: str) -> str:
    if len(run) > _KEPT_TOGETHER:
        # Turning a long run as a whole would put its end on the first line.
        return " ".join(_reversed_letters(word) for word in run.split(" "))
    return _reversed_letters(run).replace(" ", "\u00a0")


def _reversed_letters(run: str) -> str:
    clusters: list[str] = []
    for character in run:
        if clusters and unicodedata.combining(character):
            clusters[-1] += character
        else:
            clusters.append(character)
    return "".join(reversed(clusters))


def plain(text: str, font_name: str = SANS) -> str:
    """Return the text on one line, as it can be drawn."""
    return in_drawing_order(visible(text, font_name).replace("\n", " "))


def shortened(text: str, limit: int) -> str:
    """Return at most `limit` visible characters, never half of a character's code."""
    shown = visible(text)
    if len(shown) <= limit:
        return shown
    return _CUT_ESCAPE.sub("", shown[:limit]).rstrip() + " …"


def fixed_width_lines(text: str, size: float, width: float) -> tuple[str, ...]:
    """Return the text broken into lines that fit `width` points in the mono face.

    A paragraph measures letter by letter where a word is too long for its line, and
    again at each page end; for ten thousand letters that takes many seconds.
    """
    columns = max(int(width / stringWidth("0", MONO, size)), 1)
    lines: list[str] = []
    for line in visible(text, MONO).split("\n"):
        lines += wrap(line, columns, break_on_hyphens=False) or [""]
    return tuple(lines)


def clipped(text: str, font_name: str, size: float, width: float) -> str:
    """Return the text on one line, cut with an ellipsis to fit `width` points."""
    line = plain(text[:_MOST_CLIPPED], font_name)
    if stringWidth(line, font_name, size) <= width and len(text) <= _MOST_CLIPPED:
        return line
    fits = 0
    while fits < len(line):
        if stringWidth(line[: fits + 1] + "…", font_name, size) > width:
            break
        fits += 1
    return _CUT_ESCAPE.sub("", line[:fits]).rstrip() + "…"


@lru_cache(maxsize=64)
def _samples(style: ParagraphStyle) -> tuple[ParaFrag, ParaFrag]:
    """Return a fragment of words and a line end, as ReportLab makes them."""
    words, line_end, _ = Paragraph("x<br/>x", style).frags
    return words, line_end


def _fragments(
    piece: str | Strong | Mono, style: ParagraphStyle, link: str
) -> Iterator[ParaFrag]:
    words, line_end = _samples(style)
    text, face, size = piece, style.fontName, style.fontSize
    if isinstance(piece, Strong):
        text, face = piece.text, BOLD
    elif isinstance(piece, Mono):
        text, face, size = piece.text, MONO, size * _MONO_RATIO
    links = [(0, f"#{link}")] if link else []
    for order, line in enumerate(visible(str(text), face).split("\n")):
        if order > 0:
            yield line_end.clone()
        yield words.clone(
            text=in_drawing_order(line), fontName=face, fontSize=size, link=links
        )


def paragraph(words: Words, style: ParagraphStyle, *, link: str = "") -> Paragraph:
    """Return a paragraph of the words exactly as typed.

    The words are handed over as ready fragments, so no markup is ever looked for.

    Parameters
    ----------
    words : str or Strong or Mono or tuple of them
        Raw text.
    style : ParagraphStyle
        How it is set.
    link : str, optional
        Name of a place inside the document, made by this program only.
    """
    pieces: Iterable[str | Strong | Mono]
    pieces = words if isinstance(words, tuple) else (words,)
    fragments = [f for piece in pieces for f in _fragments(piece, style, link)]
    return Paragraph("", style, frags=fragments)


# The short name by which the pages call it.
P = paragraph


def label(
    x: float,
    y: float,
    text: str,
    *,
    size: float,
    color: Color,
    font_name: str = SANS,
    anchor: str = "start",
    width: float | None = None,
) -> String:
    """Return a drawing's label at (x, y) in points, cut to `width` where given."""
    if width is None:
        line = plain(text, font_name)
    else:
        line = clipped(text, font_name, size, width)
    return String(
        x,
        y,
        line,
        fontName=font_name,
        fontSize=size,
        fillColor=color,
        textAnchor=anchor,
    )


def draw_line(
    canvas: Canvas,
    x: float,
    y: float,
    text: str,
    *,
    size: float,
    width: float,
    font_name: str = SANS,
    align_right: bool = False,
) -> None:
    """Draw one line of text on the canvas, cut to `width` points."""
    line = clipped(text, font_name, size, width)
    canvas.setFont(font_name, size)
    if align_right:
        canvas.drawRightString(x, y, line)
    else:
        canvas.drawString(x, y, line)
