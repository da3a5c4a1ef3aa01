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


class _Pass:
    """One pass over the document: notes where sections start, sets bookmarks."""

    def __init__(self, file: BytesIO, lines: RunningLines, known: PageNumbers) -> None:
        self.lines = lines
        self.known = known
        self.starts: list[tuple[str, int]] = []
        self.template = BaseDocTemplate(
            file,
            pagesize=(style.PAGE_WIDTH, style.PAGE_HEIGHT),
            title=visible(lines.title),
            author=visible(lines.author),
            subject=visible(lines.subject),
            creator="Roof Register",
            lang="en-US",
            invariant=1,
            initialFontName=SANS,
            pageCompression=1,
        )
        # The two moments at which ReportLab calls its template back.
        self.template.beforeDocument = self.before_document
        self.template.afterFlowable = self.after_flowable
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
        self.template.addPageTemplates(
            [PageTemplate("page", [frame], onPage=self.draw_lines)]
        )

    def build(self, binder: Binder) -> PageNumbers:
        """Set the document and return what the pass learned."""
        self.template.build(binder.story)
        return PageNumbers(tuple(self.starts), self.template.page)

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

    def before_document(self) -> None:
        """Say in the file when it was made: the facts' moment, not the clock's."""
        canvas = self.template.canv
        canvas.setDateFormatter(_dated(self.lines.generated_at))
        canvas.showOutline()

    def after_flowable(self, flowable: Flowable) -> None:
        """Bookmark a section where it landed."""
        section = getattr(flowable, "packet_section", None)
        if isinstance(section, Section):
            canvas = self.template.canv
            canvas.bookmarkPage(section.key)
            canvas.addOutlineEntry(section.title, section.key, 0, closed=0)
            self.starts.append((section.key, self.template.page))


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
        learned = _Pass(file, lines, known).build(bind(known))
        if learned == known:
            break
        known = learned
    return file.getvalue()
