"""An address as a square code that a phone's camera reads, drawn as vectors."""

from __future__ import annotations

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing

from warranty.documents import style

# Light modules round the code, as ISO/IEC 18004 asks of the quiet zone.
QUIET_MODULES = 4


def code_drawing(address: str, *, side_pt: float) -> Drawing:
    """Return the code of an address, with its quiet zone.

    Parameters
    ----------
    address : str
        An address made by this program; ASCII.
    side_pt : float
        Side of the whole square. [pt]

    References
    ----------
    .. [1] ISO/IEC 18004:2015, level M: about 15 % of the code may be lost.
    """
    widget = QrCodeWidget(
        address,
        barWidth=side_pt,
        barHeight=side_pt,
        barLevel="M",
        barBorder=QUIET_MODULES,
        barFillColor=style.INK,
    )
    drawing = Drawing(side_pt, side_pt)
    drawing.add(widget)
    return drawing
