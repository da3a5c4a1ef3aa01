"""A text as a square code that a phone's camera reads, as one path of an SVG."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.graphics.barcode import qrencoder

# Light modules round the code, as ISO/IEC 18004 asks of the quiet zone.
QUIET_MODULES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class CodeDrawing:
    """A drawing of ``side`` by ``side`` modules; ``path`` covers the dark ones."""

    side: int
    path: str


def code_drawing(text: str) -> CodeDrawing:
    """Return the drawing of a text, level M (ISO/IEC 18004:2015)."""
    code = qrencoder.QRCode(None, qrencoder.QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    count = code.getModuleCount()
    dark = [
        f"M{column + QUIET_MODULES} {row + QUIET_MODULES}h1v1h-1z"
        for row in range(count)
        for column in range(count)
        if code.isDark(row, column)
    ]
    return CodeDrawing(side=count + 2 * QUIET_MODULES, path="".join(dark))
