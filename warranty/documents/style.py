"""The page, its typography and its inks."""

from __future__ import annotations

from reportlab.lib.colors import Color, HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm

from warranty.documents.typeface import BOLD, MONO, SANS

PAGE_WIDTH, PAGE_HEIGHT = letter
MARGIN_SIDE = 22 * mm
MARGIN_TOP = 27 * mm
MARGIN_BOTTOM = 24 * mm
TEXT_WIDTH = PAGE_WIDTH - 2 * MARGIN_SIDE

INK: Color = HexColor("#1d2630")
SOFT: Color = HexColor("#5c6670")
RULE: Color = HexColor("#cfd5da")
RULE_STRONG: Color = HexColor("#7d8790")
PAPER: Color = HexColor("#ffffff")
PANEL: Color = HexColor("#f4f1ea")


def _style(
    name: str,
    size: float,
    *,
    font_name: str = SANS,
    ink: Color = INK,
    lead: float = 1.42,
    before: float = 0,
    after: float = 0,
    alignment: int = 0,
) -> ParagraphStyle:
    return ParagraphStyle(
        name,
        fontName=font_name,
        fontSize=size,
        leading=size * lead,
        textColor=ink,
        spaceBefore=before,
        spaceAfter=after,
        alignment=alignment,
        # Named here too, else an un-embedded base font enters the file.
        bulletFontName=font_name,
        splitLongWords=1,
        allowWidows=0,
        allowOrphans=0,
    )


TITLE = _style("title", 24, font_name=BOLD, lead=1.2, after=3)
SUBTITLE = _style("subtitle", 11, ink=SOFT, after=10)
COMPANY = _style("company", 9.5, ink=SOFT)
HEADING = _style("heading", 15, font_name=BOLD, lead=1.25, before=20, after=7)
SUBHEADING = _style("subheading", 10, font_name=BOLD, before=12, after=4)
VERDICT = _style("verdict", 14, font_name=BOLD, lead=1.3, after=4)
BODY = _style("body", 9, after=5)
LEAD = _style("lead", 9, after=5)
NOTE = _style("note", 7.6, ink=SOFT, before=3, after=4)
MAP_NOTE = _style("map-note", 7.6, ink=SOFT, before=9, after=3)
CELL = _style("cell", 8.2, lead=1.34)
LETTER = _style("letter", 10, lead=1.45, after=7)
LETTER_HEADING = _style("letter-heading", 11, font_name=BOLD, before=8, after=4)
CAPTION = _style("caption", 7.4, lead=1.36)
CELL_RIGHT = _style("cell-right", 8.2, lead=1.34, alignment=TA_RIGHT)
CELL_MONO = _style("cell-mono", 6.1, font_name=MONO, lead=1.4)
CELL_HEAD = _style("cell-head", 7.2, ink=SOFT, lead=1.3)
CELL_HEAD_RIGHT = _style("cell-head-right", 7.2, ink=SOFT, lead=1.3, alignment=TA_RIGHT)
CELL_LABEL = _style("cell-label", 8.2, ink=SOFT, lead=1.34)
HASH = _style("hash", 7.6, font_name=MONO, after=4)
