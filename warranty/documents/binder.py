"""Binds a document: headings that are listed, tables with light rules, long entries.

A table cell holds what can be read in a table. A longer text is cut there with the
number of its full entry at the end of the document, so nothing is lost and no page
is torn apart by one name.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    KeepTogether,
    Paragraph,
    Spacer,
    Table,
)

from warranty.documents import style
from warranty.documents.text import (
    Mono,
    P,
    Strong,
    Words,
    fixed_width_lines,
    shortened,
    visible,
)
from warranty.documents.typeface import SANS

_LONGEST_CELL = 480  # visible characters
_MOST_LINES = 38  # of a cell: well under a page
_LINES_AT_ONCE = 40  # of a long entry, in one paragraph
_PADDING = 7  # right of each cell [pt]
_ROOM_FOR_A_HEADING = 180.0  # [pt] a heading needs this much below it
_ROOM_FOR_A_PART = 165.0  # [pt] its own line and a table that is kept whole
_KEPT_WHOLE = 130.0  # [pt] a table this short is never split
# A table names its own font even when its cells do not use it; without this an
# un-embedded one would enter the file.
BASE_FONT = ("FONTNAME", (0, 0), (-1, -1), SANS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column: its title, its share of the width, and how its cells are set."""

    title: str
    share: float
    style: ParagraphStyle = style.CELL
    is_number: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading as the contents list and the bookmarks name it."""

    key: str
    title: str


class Binder:
    """Collects the flowables of one document in reading order."""

    def __init__(self, *, long_entries: dict[str, int] | None = None) -> None:
        self.story: list[Flowable] = []
        self.sections: list[Section] = []
        # Full text to its number; shared where two binders make one document.
        self.long_entries = {} if long_entries is None else long_entries

    def heading(self, title: str, *, room_pt: float = _ROOM_FOR_A_HEADING) -> None:
        """Start a section: numbered, bookmarked, listed, with room for what follows."""
        order = len(self.sections) + 1
        section = Section(key=f"section-{order}", title=f"{order}. {title}")
        self.sections.append(section)
        self.story.append(CondPageBreak(room_pt))
        heading = P(section.title, style.HEADING)
        heading.packet_section = section
        self.story.append(heading)

    def subheading(self, title: str) -> None:
        """Start a part of a section."""
        self.story.append(CondPageBreak(_ROOM_FOR_A_PART))
        self.story.append(P(title, style.SUBHEADING))

    def body(self, words: Words, set_in: ParagraphStyle = style.BODY) -> None:
        """Add a paragraph."""
        self.story.append(P(words, set_in))

    def remark(self, words: Words, set_in: ParagraphStyle = style.BODY) -> None:
        """Add a paragraph that holds recorded words; cut like a cell if very long."""
        self.story.append(self.cell(words, set_in))

    def note(self, words: Words) -> None:
        """Add a small remark."""
        self.story.append(P(words, style.NOTE))

    def space(self, height_pt: float) -> None:
        """Add white space."""
        self.story.append(Spacer(1, height_pt))

    def together(self, *flowables: Flowable) -> None:
        """Add flowables that stay on one page."""
        self.story.append(KeepTogether(list(flowables)))

    def cell(
        self,
        words: Words,
        set_in: ParagraphStyle = style.CELL,
        *,
        width_pt: float = style.TEXT_WIDTH,
    ) -> Paragraph:
        """Return a table cell; a long text is cut and kept in full for the end."""
        pieces = words if isinstance(words, tuple) else (words,)
        # The widest letters are about as wide as the type is high.
        line = max(int((width_pt - _PADDING) / set_in.fontSize), 1)
        room = min(_LONGEST_CELL, line * _MOST_LINES) // len(pieces)
        return P(tuple(self._fitting(piece, room, line) for piece in pieces), set_in)

    def _fitting(
        self, piece: str | Strong | Mono, room: int, line: int
    ) -> str | Strong | Mono:
        text = piece if isinstance(piece, str) else piece.text
        # A line end costs a whole line, so many of them are a long text too.
        if len(visible(text)) + line * text.count("\n") <= room:
            return piece
        entry = self.long_entries.setdefault(text, len(self.long_entries) + 1)
        note = f" [long entry {entry}]"
        one_line = text.replace("\r", "\n").replace("\n", " ")
        shown = shortened(one_line, max(room - len(note), 1)) + note
        return shown if isinstance(piece, str) else type(piece)(shown)

    def facts(self, rows: Iterable[tuple[str, Words]], *, share: float = 0.3) -> None:
        """Add a list of names and values."""
        left, right = style.TEXT_WIDTH * share, style.TEXT_WIDTH * (1 - share)
        cells = [
            [
                self.cell(name, style.CELL_LABEL, width_pt=left),
                self.cell(value, width_pt=right),
            ]
            for name, value in rows
        ]
        self._add_table(Table(cells, colWidths=[left, right], style=_FACT_RULES))

    def table(self, columns: Sequence[Column], rows: Iterable[Sequence[Words]]) -> None:
        """Add a table whose head is repeated on each page."""
        head = [
            P(c.title, style.CELL_HEAD_RIGHT if c.is_number else style.CELL_HEAD)
            for c in columns
        ]
        total = sum(c.share for c in columns)
        widths = [style.TEXT_WIDTH * c.share / total for c in columns]
        cells = [
            [
                self.cell(
                    words,
                    style.CELL_RIGHT if c.is_number else c.style,
                    width_pt=width,
                )
                for c, words, width in zip(columns, row, widths, strict=True)
            ]
            for row in rows
        ]
        table = Table(
            [head, *cells], colWidths=widths, style=_TABLE_RULES, repeatRows=1
        )
        self._add_table(table)

    def _add_table(self, table: Table) -> None:
        table.spaceBefore, table.spaceAfter = 3, 8
        table.hAlign = "LEFT"
        _, height = table.wrap(style.TEXT_WIDTH, style.PAGE_HEIGHT)
        if height <= _KEPT_WHOLE:
            self.together(table)
        else:
            self.story.append(table)

    def add_long_entries(self) -> None:
        """End the document with the texts that were too long for their cells."""
        if not self.long_entries:
            return
        self.heading("Long entries in full")
        for text, entry in self.long_entries.items():
            self.subheading(f"Long entry {entry}")
            lines = fixed_width_lines(text, style.HASH.fontSize, style.TEXT_WIDTH)
            for start in range(0, len(lines), _LINES_AT_ONCE):
                part = lines[start : start + _LINES_AT_ONCE]
                self.body("\n".join(part), style.HASH)


def add_paragraphs(binder: Binder, text: str) -> None:
    """Add a text of several lines as paragraphs; it is never cut."""
    for part in text.replace("\r\n", "\n").split("\n"):
        if part.strip():
            binder.body(part)


_TABLE_RULES = [
    BASE_FONT,
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
    ("LINEBELOW", (0, 0), (-1, 0), 0.8, style.RULE_STRONG),
    ("LINEBELOW", (0, 1), (-1, -1), 0.35, style.RULE),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), _PADDING),
    ("TOPPADDING", (0, 0), (-1, -1), 3.2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 3.6),
]
_FACT_RULES = [
    BASE_FONT,
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LINEBELOW", (0, 0), (-1, -1), 0.35, style.RULE),
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), _PADDING),
    ("TOPPADDING", (0, 0), (-1, -1), 3.2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 3.6),
]
