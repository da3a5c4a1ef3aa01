"""Turns a bound document into PDF bytes: pages, running lines, bookmarks, metadata."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from warranty.documents import style
from warranty.documents.binder import Binder, Section
from warranty.documents.text import draw_line, visible
from warranty.documents.typeface import SANS, register_typefaces

_MOST_PASSES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningLines:
    """What every page says at its head and foot, and what the file says of itself."""

    title: str
    subject: str
    author: str
    head_left: str
    head_right: str
    foot_left: str
    generated_at: datetime


@dataclass(frozen=True, slots=True)
class PageNumbers:
    """What one pass learned: where sections start, and how many pages there are."""

    starts: tuple[tuple[str, int], ...] = ()
    page_count: int = 0

    def of(self, key: str) -> int:
        """Return the page a section starts on; 0 before the first pass."""
        return dict(self.starts).get(key, 0)


Bind = Callable[[PageNumbers], Binder]


class _Pages(BaseDocTemplate):
    """Notes where sections start, and sets their bookmarks."""

    def __init__(self, file: BytesIO, lines: RunningLines, known: PageNumbers) -> None:
        super().__init__(
            file,
            pagesize=(style.PAGE_WIDTH, style.PAGE_HEIGHT),
            leftMargin=style.MARGIN_SIDE,
            rightMargin=style.MARGIN_SIDE,
            topMargin=style.MARGIN_TOP,
            bottomMargin=style.MARGIN_BOTTOM,
            title=visible(lines.title),
            author=visible(lines.author),
            subject=visible(lines.subject),
            creator="Roof Register",
            lang="en-US",
            invariant=1,
            initialFontName=SANS,
            pageCompression=1,
        )
        self.lines = lines
        self.known = known
        self.starts: list[tuple[str, int]] = []
        frame = Frame(
            style.MARGIN_SIDE,
            style.MARGIN_BOTTOM,
            style.TEXT_WIDTH,
            style.PAGE_HEIGHT - style.MARGIN_TOP - style.MARGIN_BOTTOM,
            leftPadding=0,
            rightPadding=0,
            topPadding=0,
            bottomPadding=0,
        )
        self.addPageTemplates([PageTemplate("page", [frame], onPage=self.draw_lines)])

    def draw_lines(self, canvas: Canvas, _template: object) -> None:
        """Draw the running lines of one page."""
        left, right = style.MARGIN_SIDE, style.PAGE_WIDTH - style.MARGIN_SIDE
        head, foot = style.PAGE_HEIGHT - 15 * mm, 13 * mm
        half = style.TEXT_WIDTH / 2 - 6
        canvas.saveState()
        canvas.setFillColor(style.SOFT)
        canvas.setStrokeColor(style.RULE)
        canvas.setLineWidth(0.5)
        canvas.line(left, head - 6, right, head - 6)
        canvas.line(left, foot + 11, right, foot + 11)
        draw_line(canvas, left, head, self.lines.head_left, size=7, width=half)
        draw_line(
            canvas,
            right,
            head,
            self.lines.head_right,
            size=7,
            width=half,
            align_right=True,
        )
        draw_line(
            canvas,
            left,
            foot,
            self.lines.foot_left,
            size=7,
            width=style.TEXT_WIDTH - 80,
        )
        page = f"page {canvas.getPageNumber()} of {self.known.page_count}"
        draw_line(canvas, right, foot, page, size=7, width=80, align_right=True)
        canvas.restoreState()

    def beforeDocument(self) -> None:  # noqa: N802 - the name ReportLab calls
        """Say in the file when it was made: the facts' moment, not the clock's."""
        self.canv.setDateFormatter(_dated(self.lines.generated_at))
        self.canv.showOutline()

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802 - same
        """Bookmark a section where it landed."""
        section = getattr(flowable, "packet_section", None)
        if isinstance(section, Section):
            self.canv.bookmarkPage(section.key)
            self.canv.addOutlineEntry(section.title, section.key, 0, closed=0)
            self.starts.append((section.key, self.page))


def _dated(moment: datetime) -> Callable[..., str]:
    offset = moment.strftime("%z")
    zone = f"{offset[:3]}'{offset[3:5]}'" if offset else "Z"

    def formatted(*_unused: object) -> str:
        return f"D:{moment:%Y%m%d%H%M%S}{zone}"

    return formatted


def press(bind: Bind, lines: RunningLines) -> bytes:
    """Return the document as PDF bytes; the same facts give the same bytes.

    The contents list and "page x of y" need page numbers that only a finished pass
    knows, so passes repeat until two agree: twice, as a rule.

    Parameters
    ----------
    bind : callable
        Makes the document anew, given the page numbers of the pass before.
    lines : RunningLines
        Running lines and metadata.
    """
    register_typefaces()
    known = PageNumbers()
    for _ in range(_MOST_PASSES):
        file = BytesIO()
        pages = _Pages(file, lines, known)
        pages.build(bind(known).story)
        learned = PageNumbers(tuple(pages.starts), pages.page)
        if learned == known:
            break
        known = learned
    return file.getvalue()
