"""Exhibits: pairs of before and after, photos with their clocks, files by hash."""

from __future__ import annotations

from collections.abc import Iterator

from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from warranty.documents import style, wording
from warranty.documents.binder import BASE_FONT, Binder
from warranty.documents.facts import ExhibitFacts
from warranty.documents.picture import Picture, one_scale
from warranty.documents.text import Mono, Strong, Words

_COLUMN = (style.TEXT_WIDTH - 14) / 2  # two photos stand beside each other [pt]
_HIGHEST_PAIR = 190.0  # [pt]
_HIGHEST_PHOTO = 150.0  # [pt]


def add_exhibits(binder: Binder, exhibits: tuple[ExhibitFacts, ...]) -> None:
    """Add the exhibits by the hash of their original bytes, where there are any."""
    if not exhibits:
        return
    binder.heading("Exhibits", room_pt=380)
    binder.body(
        "Each exhibit is known by the SHA-256 of its original bytes. The camera's and"
        " the device's time can be set by anyone; the time of receipt is the server's."
        " Photos are printed from small copies."
    )
    add_photos(binder, exhibits)


def add_photos(binder: Binder, exhibits: tuple[ExhibitFacts, ...]) -> None:
    """Add pairs first, then every exhibit that is in no pair."""
    pairs = pairs_of(exhibits)
    paired = {each.number for pair in pairs for each in pair}
    if pairs:
        binder.subheading("Before and after")
        for before, after in pairs:
            _add_pair(binder, before, after)
    rest = [each for each in exhibits if each.number not in paired]
    if pairs and rest:
        binder.subheading("Further exhibits")
    for at in range(0, len(rest), 2):
        _add_row(binder, tuple(rest[at : at + 2]))


def pairs_of(
    exhibits: tuple[ExhibitFacts, ...],
) -> tuple[tuple[ExhibitFacts, ExhibitFacts], ...]:
    """Return before and after where both are exhibits with a picture."""
    known = {each.number: each for each in exhibits if each.picture is not None}
    return tuple(
        (known[each.after_of], each)
        for each in known.values()
        if each.after_of in known and each.after_of != each.number
    )


def _add_pair(binder: Binder, before: ExhibitFacts, after: ExhibitFacts) -> None:
    pictures = tuple(p for p in (before.picture, after.picture) if p is not None)
    scale = one_scale(pictures, width_pt=_COLUMN, height_pt=_HIGHEST_PAIR)
    left, right = (Picture(each, pt_per_px=scale) for each in pictures)
    words = [_words(binder, before, "Before"), _words(binder, after, "After")]
    _add_table(binder, [[left, right], words])


def _add_row(binder: Binder, row: tuple[ExhibitFacts, ...]) -> None:
    empty = [Spacer(1, 1)] * (2 - len(row))
    looks = [*(_look(binder, each) for each in row), *empty]
    words = [*(_words(binder, each) for each in row), *empty]
    _add_table(binder, [looks, words])


def _look(binder: Binder, exhibit: ExhibitFacts) -> Flowable:
    if exhibit.picture is not None:
        scale = one_scale(
            (exhibit.picture,), width_pt=_COLUMN, height_pt=_HIGHEST_PHOTO
        )
        return Picture(exhibit.picture, pt_per_px=scale)
    why = exhibit.no_picture or "no picture was kept"
    return binder.cell((Strong("Not shown: "), why), style.CELL, width_pt=_COLUMN)


def _add_table(binder: Binder, rows: list[list[Flowable | list[Flowable]]]) -> None:
    table = Table(
        rows,
        colWidths=[_COLUMN + 14, _COLUMN],
        style=[
            BASE_FONT,
            ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
            ("VALIGN", (0, 1), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (0, -1), 14),
            ("RIGHTPADDING", (1, 0), (1, -1), 0),
            ("TOPPADDING", (0, 0), (-1, -1), 3),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ],
    )
    table.hAlign = "LEFT"
    table.spaceAfter = 9
    binder.story.append(KeepTogether([table]))


def _words(binder: Binder, exhibit: ExhibitFacts, role: str = "") -> list[Flowable]:
    # A paragraph a line: a long caption is cut alone, and the hash never is.
    return [
        binder.cell(line, style.CAPTION, width_pt=_COLUMN)
        for line in _lines(exhibit, role)
    ]


def _lines(exhibit: ExhibitFacts, role: str) -> Iterator[Words]:
    name = f"{role}, {exhibit.number}" if role else exhibit.number
    yield Strong(name), f"  {exhibit.caption or 'no caption recorded'}"
    place = wording.place(exhibit.place_label, exhibit.x_m, exhibit.y_m, missing="")
    about = [wording.readable(exhibit.kind), place]
    if exhibit.visit_ref:
        about.append(f"visit {exhibit.visit_ref}")
    if exhibit.after_of and not role:
        about.append(f"after {exhibit.after_of}")
    yield ", ".join(part for part in about if part)
    yield f"Camera: {exhibit.captured_at or wording.NOT_RECORDED}"
    yield f"Device: {exhibit.device_at or wording.NOT_RECORDED}"
    yield f"Received: {wording.at(exhibit.received_at)}"
    for doubt in exhibit.clock_doubts:
        yield Strong(f"Question: {doubt}")
    yield Mono(exhibit.sha256)
