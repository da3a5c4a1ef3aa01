"""Real servers for the tests: where they are, and whether they answer."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import psycopg
from django.conf import settings
from redis import Redis
from redis.exceptions import RedisError

from config import environment

POSTGRESQL_URL = os.environ.get(
    "ROOFREG_TEST_POSTGRESQL_URL", "postgresql://postgres@127.0.0.1/postgres"
)
REQUIRED = environment.boolean("ROOFREG_REQUIRE_SERVICES", default="no")
CHROMIUM = ("chromium", "chromium-browser", "google-chrome")


def is_suite_on_postgresql() -> bool:
    """Return whether this run of the tests uses PostgreSQL as its database."""
    return str(settings.DATABASES["default"]["ENGINE"]).endswith("postgresql")


@cache
def why_missing(marker: str) -> str:
    """Return why tests with this marker cannot run here, or an empty text."""
    match marker:
        case "postgresql":
            return _why_no_postgresql()
        case "redis":
            return "" if shutil.which("redis-server") else "no redis-server installed"
        case "browser":
            found = any(shutil.which(name) for name in CHROMIUM)
            return "" if found else "no Chromium installed"
    return ""


def _why_no_postgresql() -> str:
    if is_suite_on_postgresql():
        return ""
    try:
        psycopg.connect(POSTGRESQL_URL, connect_timeout=2).close()
    except psycopg.OperationalError as error:
        return f"no PostgreSQL at ROOFREG_TEST_POSTGRESQL_URL: {error}"
    return ""


def free_port() -> int:
    """Return a port of this machine that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port


@contextmanager
def redis_server(folder: Path) -> Iterator[str]:
    """Start a Redis of our own on a free port and yield its address."""
    port = free_port()
    server = subprocess.Popen(  # noqa: S603 - our own program
        [
            shutil.which("redis-server") or "redis-server",
            *("--bind", "127.0.0.1", "--port", str(port), "--dir", str(folder)),
            *("--save", "", "--appendonly", "no"),
        ],
        stdout=subprocess.DEVNULL,
    )
    try:
        _wait_for_redis(port)
        yield f"redis://127.0.0.1:{port}/0"
    finally:
        server.terminate()
        server.wait(timeout=10)


def _wait_for_redis(port: int) -> None:
    deadline_s = time.monotonic() + 10
    while time.monotonic() < deadline_s:
        try:
            with Redis(port=port) as client:
                client.ping()
        except RedisError:
            time.sleep(0.05)
        else:
            return
    raise TimeoutError(f"the test's redis-server did not answer on port {port}")
