"""Sessions in the database that know whose they are, so that they can be ended."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from hashlib import sha256
from uuid import UUID

from django.contrib.auth import SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.utils import timezone

from fleet.models import Session

BEGAN, ADDRESS, PROGRAM, FACTOR = "began", "address", "program", "factor"
SEEN_EVERY = timedelta(minutes=10)


class SessionStore(DatabaseStore):
    """Django's own store, with person, start, place and last use beside the data."""

    seen_at: datetime | None = None
    began_at: datetime | None = None

    @classmethod
    def get_model_class(cls) -> type[Session]:
        """Return the table."""
        return Session

    def load(self) -> Mapping[str, object]:
        """Return the data, and remember when the session was last seen."""
        row = self._get_session_from_db()
        self.seen_at = row.seen_at if row else None
        self.began_at = row.began_at if row else None
        return self.decode(row.session_data) if row else {}

    def create_model_instance(self, data: Mapping[str, object]) -> Session:
        """Return the row that is written: all of it follows from key and data."""
        row: Session = super().create_model_instance(data)
        user, began, now = data.get(SESSION_KEY), data.get(BEGAN), timezone.now()
        row.uuid = uuid_of(row.session_key)
        row.user_id = int(str(user)) if user else None
        row.began_at = (
            datetime.fromisoformat(str(began)) if began else self.began_at or now
        )
        row.seen_at = now
        row.address = str(data.get(ADDRESS, ""))
        row.program = str(data.get(PROGRAM, ""))[:200]
        return row

    def is_stale(self, now: datetime) -> bool:
        """Return whether its last use should be written anew."""
        return self.seen_at is not None and self.seen_at <= now - SEEN_EVERY


def uuid_of(session_key: str) -> UUID:
    """Return the id under which people see a session; it does not tell the key."""
    return UUID(bytes=sha256(f"session:{session_key}".encode()).digest()[:16])
