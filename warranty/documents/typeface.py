"""The embedded typefaces: registration, and which characters each can draw."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from reportlab.pdfbase.pdfmetrics import registerFont
from reportlab.pdfbase.ttfonts import TTFont

SANS = "RoofSans"
BOLD = "RoofSans-Bold"
MONO = "RoofMono"

_FOLDER = Path(__file__).parent / "fonts"
_FILES = {
    SANS: "DejaVuSans.ttf",
    BOLD: "DejaVuSans-Bold.ttf",
    MONO: "DejaVuSansMono.ttf",
}
# The highest code point of the basic plane: beyond it a PDF reader's text
# extraction is not dependable, so such characters are shown by their code.
_HIGHEST_DRAWN = 0xFFFF


@cache
def drawable(font_name: str) -> frozenset[int]:
    """Register the typeface on first use and return the code points it can draw."""
    font = TTFont(font_name, str(_FOLDER / _FILES[font_name]))
    registerFont(font)
    glyphs = font.face.charToGlyph
    return frozenset(code for code in glyphs if code <= _HIGHEST_DRAWN)


def register_typefaces() -> None:
    """Make every typeface known to ReportLab; repeating it costs nothing."""
    for name in _FILES:
        drawable(name)
