"""Photos on a page: small copies as they are kept, never decoded anew for size."""

from __future__ import annotations

from io import BytesIO

from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from warranty.documents import style
from warranty.documents.facts import PictureFacts


class Picture(Flowable):  # type: ignore[misc]  # ReportLab is untyped
    """One photo in a frame of its own size."""

    def __init__(self, picture: PictureFacts, *, pt_per_px: float) -> None:
        super().__init__()
        self.picture = picture
        self.width = picture.width_px * pt_per_px
        self.height = picture.height_px * pt_per_px

    def wrap(self, *_available: float) -> tuple[float, float]:
        """Return its size, whatever room there is. [pt]"""
        return self.width, self.height

    def draw(self) -> None:
        """Draw it with a hairline round it, so that a white sky has an edge."""
        canvas: Canvas = self.canv
        source = ImageReader(BytesIO(self.picture.content))
        canvas.drawImage(source, 0, 0, self.width, self.height)
        canvas.setStrokeColor(style.RULE_STRONG)
        canvas.setLineWidth(0.4)
        canvas.rect(0, 0, self.width, self.height)


def one_scale(
    pictures: tuple[PictureFacts, ...], *, width_pt: float, height_pt: float
) -> float:
    """Return the points for a pixel at which every one of these fits the box."""
    return min(
        min(width_pt / each.width_px, height_pt / each.height_px) for each in pictures
    )
