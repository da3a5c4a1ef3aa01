"""What files of lists are called and how many rows one holds."""

from __future__ import annotations

CSV = "text/csv"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FILES = (CSV, XLSX)
FILE_ROWS_MAX = 10_000
SAFE, EXACT = "safe", "exact"
