"""One page of a list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from django.db.models import Model, QuerySet

Row = TypeVar("Row", bound=Model)


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed(Generic[Row]):
    """One page of rows, and how many there are."""

    rows: tuple[Row, ...]
    count: int
    page: int
    pages: int

    @property
    def previous_page(self) -> int | None:
        """The page before this one."""
        return self.page - 1 if self.page > 1 else None

    @property
    def next_page(self) -> int | None:
        """The page after this one."""
        return self.page + 1 if self.page < self.pages else None


def listed(rows: QuerySet[Row], *, page: int, size: int) -> Listed[Row]:
    """Return one page of an ordered query; a page beyond the last is the last."""
    count = rows.count()
    pages = max(1, -(-count // size))
    number = min(max(page, 1), pages)
    start = (number - 1) * size
    return Listed(
        rows=tuple(rows[start : start + size]), count=count, page=number, pages=pages
    )


def page_number(asked: str) -> int:
    """Return the page that an address asks for; anything else is the first."""
    return int(asked) if asked.isdecimal() and len(asked) < 6 else 1
