"""What every test relies on: real servers or a reason, and a folder of its own."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.db import connections
from django.db.backends.sqlite3.base import DatabaseWrapper

from tests import services

SERVICE_MARKERS = ("postgresql", "redis", "browser")


def pytest_configure() -> None:
    """Hash passwords quickly: a slow hash is for people who guess, not for tests."""
    django_settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip a test whose server is missing, or fail it where servers are required."""
    for marker in SERVICE_MARKERS:
        if item.get_closest_marker(marker) is None:
            continue
        reason = services.why_missing(marker)
        if reason and services.REQUIRED:
            pytest.fail(f"ROOFREG_REQUIRE_SERVICES=1, but {reason}", pytrace=False)
        if reason:
            pytest.skip(reason)


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path_factory) -> Path:
    """Keep what a test writes away from the data of this machine."""
    settings.DATA_DIR = tmp_path_factory.getbasetemp() / "data"
    # Tests ask faster than any program; those of the limit set one.
    settings.API_REQUESTS_PER_MINUTE = 0
    # Without it every client looks through a folder that only a deployment fills.
    settings.WHITENOISE_AUTOREFRESH = True
    return settings.DATA_DIR


_flush_of_django = DatabaseWrapper.ops_class.sql_flush


def _flush_around_triggers(self, style, tables, **options):
    """Empty the tables of a test although triggers refuse it, then guard them again.

    PostgreSQL empties them by TRUNCATE, which row triggers do not see.
    """
    statements = _flush_of_django(self, style, tables, **options)
    with self.connection.cursor() as cursor:
        cursor.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name"
        )
        triggers = cursor.fetchall()
    drops = [f"DROP TRIGGER {self.quote_name(name)}" for name, _ in triggers]
    return [*drops, *statements, *(sql for _, sql in triggers)] if statements else []


DatabaseWrapper.ops_class.sql_flush = _flush_around_triggers


@pytest.fixture
def shared_database(transactional_db, tmp_path) -> str:
    """Yield the address of the test database, for threads and other processes too.

    SQLite's test database lives in this process's memory and locks by table, so a
    copy of it in a file takes its place, with the settings that a server has.
    """
    own = connections["default"]
    if own.vendor == "postgresql":
        at = own.settings_dict
        login = f"{at['USER']}:{at['PASSWORD']}" if at["PASSWORD"] else at["USER"]
        port = f":{at['PORT']}" if at["PORT"] else ""
        yield f"postgresql://{login}@{at['HOST']}{port}/{at['NAME']}"
        return
    path = tmp_path / "shared.sqlite3"
    with own.cursor() as cursor:
        cursor.execute("VACUUM INTO %s", [str(path)])
    in_memory = own.settings_dict["NAME"]
    connections.settings["default"]["NAME"] = str(path)
    connections["default"] = connections.create_connection("default")
    try:
        yield f"sqlite:///{path}"
    finally:
        connections["default"].close()
        connections["default"] = own
        connections.settings["default"]["NAME"] = in_memory
