"""The list of 50 roofs with their standings, beside the barest view of the same rows.

Run ``python -m tests.bench.api_list``. Another database to measure, an empty one, is
named by ``ROOFREG_BENCH_DATABASE_URL``; else it is a fresh SQLite file. Both views go
through Django's test handler with the project's middleware, signed in by the same
session; the bare one reads the same columns in one query and dumps them with orjson.
They take turns in one run, so that a busy machine is slow for both.
"""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

import django

IS_SHORT = os.environ.get("ROOFREG_BENCH_SHORT") == "1"
ROUNDS = 40 if IS_SHORT else 200
SIZES = (2_000,) if IS_SHORT else (2_000, 200_000)
ADDRESS = "/api/v1/standings"


def main() -> int:
    """Prepare a database, measure, print."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ.setdefault("ROOFREG_SECRET_KEY", "only-for-the-bench")
        os.environ["ROOFREG_DATA_DIR"] = folder
        # Never the records of this machine: the bench leaves rows behind.
        os.environ["ROOFREG_DATABASE_URL"] = os.environ.get(
            "ROOFREG_BENCH_DATABASE_URL", f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        )
        # The count is kept as for everybody; the limit is beyond the bench.
        os.environ["ROOFREG_API_REQUESTS_PER_MINUTE"] = "10000000"
        os.environ["ROOFREG_DEBUG"] = "no"
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        django.setup()
        measure()
    return 0


def measure() -> None:
    """Time both views at each size, and count the queries of the list."""
    from django.conf import settings
    from django.core.management import call_command
    from django.db import connection

    from tests.bench import api_list_cases as cases

    settings.ALLOWED_HOSTS = ["*"]
    settings.ROOT_URLCONF = "tests.bench.api_list_cases"
    call_command("migrate", verbosity=0)
    said: list[tuple[float, float]] = []
    for size in SIZES:
        cases.fill(size)
        client = cases.signed_in()
        for address in (ADDRESS, "/bare"):
            assert len(cases.rows_of(client.get(address))) == 50
        same = cases.rows_of(client.get(ADDRESS)) == cases.rows_of(client.get("/bare"))
        assert same
        listed, bare = [], []
        for _ in range(ROUNDS):
            listed.append(seconds(client, ADDRESS))
            bare.append(seconds(client, "/bare"))
        rate, ceiling = 1 / median(listed), 1 / median(bare)
        said.append((rate, ceiling))
        say(
            f"{connection.vendor}, {size} roofs: {rate:.0f} lists a second in "
            f"{cases.queries(client, ADDRESS)} queries; ceiling {ceiling:.0f} (the "
            f"barest view, {cases.queries(client, '/bare')} queries), "
            f"{100 * rate / ceiling:.0f} % of it"
        )
    if len(said) > 1:
        (few, few_bare), (many, many_bare) = said[0], said[-1]
        say(
            f"at {SIZES[-1]} roofs {100 * many / few:.0f} % of the rate at {SIZES[0]}; "
            f"the barest view {100 * many_bare / few_bare:.0f} %"
        )


def seconds(client: object, address: str) -> float:
    """Return how long one answer takes."""
    began = perf_counter()
    client.get(address)  # type: ignore[attr-defined]  # a test client
    return perf_counter() - began


def say(text: str) -> None:
    """Print a figure."""
    sys.stdout.write(f"{text}\n")


if __name__ == "__main__":
    sys.exit(main())
