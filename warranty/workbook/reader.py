"""Read one row column by column, refusing it at the first cell that cannot be read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from warranty.workbook.cells import choice_of
from warranty.workbook.errors import CellError, RowRefused
from warranty.workbook.layout import SheetLayout
from warranty.workbook.sheet import RawRow

Value = TypeVar("Value")


class RowReader:
    """The cells of one row by their columns' names."""

    def __init__(self, layout: SheetLayout, raw: RawRow) -> None:
        if raw.problem is not None:
            raise raw.problem
        self.row_no = raw.row_no
        self._cells = dict(zip(layout.columns, raw.cells, strict=True))

    def text(self, column: str, *, longest: int = 200) -> str:
        """Return a text, empty where the cell is blank."""
        text = self._cells[column]
        if len(text) > longest:
            raise RowRefused(
                column=column,
                value=text[:80],
                code="too-long",
                reason=f"Column {column} holds at most {longest} characters.",
            )
        return text

    def given(self, column: str, *, longest: int = 200) -> str:
        """Return a text that must be there."""
        text = self.text(column, longest=longest)
        if not text:
            raise RowRefused(
                column=column,
                value="",
                code="missing-value",
                reason=f"Column {column} is blank. Fill it in.",
            )
        return text

    def maybe(self, column: str, parse: Callable[[str], Value]) -> Value | None:
        """Return what a cell says, or None where it is blank."""
        text = self._cells[column]
        if not text:
            return None
        try:
            return parse(text)
        except CellError as error:
            raise RowRefused(
                column=column,
                value=text[:80],
                code=error.code,
                reason=error.message,
            ) from None

    def need(self, column: str, parse: Callable[[str], Value]) -> Value:
        """Return what a cell says; it must not be blank."""
        value = self.maybe(column, parse)
        if value is None:
            raise RowRefused(
                column=column,
                value="",
                code="missing-value",
                reason=f"Column {column} is blank. Fill it in.",
            )
        return value

    def word(self, column: str, choices: Mapping[str, str]) -> str:
        """Return the value of a word that must be one of the choices."""
        return self.need(column, lambda text: choice_of(text, choices))

    def maybe_word(self, column: str, choices: Mapping[str, str]) -> str:
        """Return the value of a word, or an empty text where the cell is blank."""
        return self.maybe(column, lambda text: choice_of(text, choices)) or ""
