"""A large workbook streams: memory holds a batch of coaches, not the workbook."""

from __future__ import annotations

import sys

import pytest

from tests.bench.imports import measured, write_office

pytestmark = pytest.mark.slow
# The allocator's own room between two runs; twenty thousand rows held need more.
SLACK_MB = 10


def test_twice_the_rows_need_no_more_memory(tmp_path, monkeypatch):
    monkeypatch.setenv("ROOFREG_DEBUG", "no")
    monkeypatch.setenv("ROOFREG_SECRET_KEY", "only-here")
    monkeypatch.setenv("ROOFREG_DATA_DIR", str(tmp_path))
    monkeypatch.delenv("ROOFREG_DATABASE_URL", raising=False)
    measured(tmp_path, "prepare")
    grown = {}
    for rows in (20_000, 40_000):
        folder = tmp_path / str(rows)
        folder.mkdir()
        written = write_office(folder, rows)
        answer = measured(folder, "check")
        ceiling = measured(folder, "csv")
        assert answer["rows"] == ceiling["rows"] == written
        grown[rows] = answer["grown_mb"]
        sys.stdout.write(f"{rows} rows: {answer}, bare reading: {ceiling}\n")

    assert grown[40_000] < grown[20_000] + SLACK_MB
