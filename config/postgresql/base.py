"""Django's PostgreSQL backend, with the second wall's opening ahead of each statement.

The opening holds for one transaction (``SET LOCAL``). Outside of one it is
sent in the same message as the statement, which PostgreSQL runs as one transaction: so
reads in autocommit need no more round trips, and a pooled connection keeps nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from contextlib import AbstractContextManager, nullcontext
from typing import Any

from django.db.backends.postgresql import base
from django.db.backends.postgresql.psycopg_any import register_tzloader, sql

from fleet.wall import opening

# What reads or writes rows. The rest (savepoints, tables) must go alone.
_TOUCHES_ROWS = re.compile(
    r"\s*\(*\s*(select|insert|update|delete|with)\b", re.IGNORECASE
)


class WalledCursor(base.Cursor):
    """A cursor whose statements carry their opening."""

    def execute(self, query: Any, params: Any = None, **more: Any) -> Any:
        """Run a statement within the opening of the work at hand."""
        told = opening().statement
        text = query if isinstance(query, str) else query.as_string(self)
        if _TOUCHES_ROWS.match(text) is None:
            return super().execute(query, params, **more)
        ahead = told + query if isinstance(query, str) else sql.SQL(told) + query
        super().execute(ahead, params, **more)
        for _ in range(told.count(";")):
            self.nextset()
        return self

    def executemany(self, query: Any, params_seq: Iterable[Any], **more: Any) -> None:
        """Run a statement for many rows, within one transaction's opening."""
        with _one_transaction(self.connection):
            super().execute(opening().statement)
            super().executemany(query, params_seq, **more)


class WalledServerCursor(base.ServerSideCursor):
    """A cursor of the server's, for reading long lists in pieces."""

    def execute(self, query: Any, params: Any = None, **more: Any) -> Any:
        """Declare the cursor within the opening of the work at hand."""
        with _one_transaction(self.connection):
            self.connection.cursor().execute(opening().statement)
            return super().execute(query, params, **more)


def _one_transaction(connection: Any) -> AbstractContextManager[object]:
    """Return a transaction of its own, unless one is open."""
    return connection.transaction() if connection.autocommit else nullcontext()


class DatabaseWrapper(base.DatabaseWrapper):
    """A connection whose cursors carry their opening."""

    def get_connection_params(self) -> dict[str, Any]:
        """Return what the driver is given; its cursors are ours."""
        return {**super().get_connection_params(), "cursor_factory": WalledCursor}

    def create_cursor(self, name: str | None = None) -> Any:
        """Return a cursor, of the server's where it has a name."""
        if not name:
            return super().create_cursor()
        cursor = WalledServerCursor(
            self.connection,
            name=name,
            scrollable=False,
            withhold=self.connection.autocommit,
        )
        register_tzloader(self.timezone, cursor)
        return cursor
