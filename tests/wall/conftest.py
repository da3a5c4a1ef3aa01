"""The second wall stands in PostgreSQL; on SQLite there is nothing to ask."""

from __future__ import annotations

from tests import services

collect_ignore_glob = [] if services.is_suite_on_postgresql() else ["test_*"]
