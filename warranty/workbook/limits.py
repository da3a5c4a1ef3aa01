"""How large a workbook may be. Project convention: ten years of a large office fit."""

from __future__ import annotations

from typing import Final

MAX_FILE_BYTES: Final = 50 * 1024 * 1024
# A packed member may unfold to this many times its packed size.
MAX_UNPACK_RATIO: Final = 100
MAX_UNPACKED_BYTES: Final = 400 * 1024 * 1024
MAX_ROWS: Final = 500_000
MAX_COLUMNS: Final = 200
MAX_CELL_CHARS: Final = 10_000
# The spreadsheet reader holds one sheet's rectangle of cells in memory.
MAX_SHEET_CELLS: Final = 8_000_000
# One coach's rows are planned together.
MAX_ROWS_PER_UNIT: Final = 20_000
MAX_CATALOGUE_ROWS: Final = 2_000
