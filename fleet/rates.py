"""Count a caller's requests in the present window, once for all processes.

With Redis its counter is used. PostgreSQL keeps a row in an unlogged table, so nothing
waits for the disk. SQLite's one writer is for records: the counts stand in a file
beside it that needs to survive no crash.
"""

from __future__ import annotations

import logging
import sqlite3
import threading
from functools import cache
from pathlib import Path

from django.conf import settings
from django.db import connection
from redis import Redis
from redis.exceptions import RedisError

logger = logging.getLogger(__name__)

WINDOW_S = 60
_UPSERT = """
INSERT INTO {table} AS known (principal, "window", count) VALUES ({mark}, {mark}, 1)
ON CONFLICT (principal) DO UPDATE SET
    count = CASE WHEN known."window" = excluded."window"
        THEN known.count + 1 ELSE 1 END,
    "window" = excluded."window"
RETURNING count
"""
_IN_POSTGRESQL = _UPSERT.format(table="fleet_ratewindow", mark="%s")
_IN_FILE = _UPSERT.format(table="rate", mark="?")
_CREATE = """
CREATE TABLE IF NOT EXISTS rate
    (principal TEXT PRIMARY KEY, "window" INTEGER NOT NULL, count INTEGER NOT NULL)
"""
_files = threading.local()
_making = threading.Lock()


def count_request(*, principal: str, window: int) -> int:
    """Count one more request of a caller in a window and return how many it made."""
    if settings.BROKER_URL:
        try:
            return _in_redis(principal, window)
        except RedisError:
            logger.warning("Redis did not count a request; the database does.")
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(_IN_POSTGRESQL, [principal, window])
            [count] = cursor.fetchone()
        return int(count)
    [count] = _file().execute(_IN_FILE, (principal, window)).fetchone()
    return int(count)


def _in_redis(principal: str, window: int) -> int:
    name = f"roof-register:rate:{principal}:{window}"
    pipe = _redis(settings.BROKER_URL).pipeline()
    pipe.incr(name)
    pipe.expire(name, 2 * WINDOW_S)
    count: int = pipe.execute()[0]
    return count


def _redis(url: str) -> Redis:
    # One client a process: a second one, thrown away, would close what is in use.
    with _making:
        return _client(url)


@cache
def _client(url: str) -> Redis:
    return Redis.from_url(url)


def _file() -> sqlite3.Connection:
    path = Path(settings.DATA_DIR) / "rates.sqlite3"
    known: dict[Path, sqlite3.Connection] = _files.__dict__.setdefault("known", {})
    if path not in known:
        path.parent.mkdir(parents=True, exist_ok=True)
        opened = sqlite3.connect(path, timeout=20, isolation_level=None)
        opened.execute("PRAGMA journal_mode=MEMORY")
        opened.execute("PRAGMA synchronous=OFF")
        opened.execute(_CREATE)
        known[path] = opened
    return known[path]
