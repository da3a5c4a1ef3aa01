"""Schemathesis against the served document: every role, all checks, none excluded.

Seeded. CONTRACT_CASES is how many cases all roles send together: few in the suite,
50,000 in the drills. Setting CONTRACT_SEED to another number tries other cases.
"""

from __future__ import annotations

import os

import pytest

from fleet.models import User
from tests.api import records
from tests.contract.fuzz import PASSWORD, fuzz

CASES = int(os.environ.get("CONTRACT_CASES", "900"))
SEED = int(os.environ.get("CONTRACT_SEED", "1871"))
# From so many cases on every role asks every operation.
ENOUGH = 3000
ROLES = ("office", "technician", "manager")


@pytest.fixture(autouse=True)
def committed(transactional_db) -> None:
    """Commit what is there: the application closes its connection as a server does."""


def person_of(world, who: str) -> User:
    uuid = world.who(who).get("/api/v1/me").json()["uuid"]
    user = User.objects.get(uuid=uuid)
    user.set_password(PASSWORD)
    user.save()
    return user


def ids_of(world) -> dict[str, list[str]]:
    """Return ids of every collection that has records, as the office reads them."""
    found: dict[str, list[str]] = {}
    document = world.office.get("/api/v1/openapi.json").json()
    for path in document["paths"]:
        if "{" in path or "get" not in document["paths"][path]:
            continue
        page = world.office.get(path)
        if page.status_code == 200:
            rows = page.json().get("results", [])
            ids = [row["uuid"] for row in rows if "uuid" in row]
            found[path.removeprefix("/api/v1/")] = ids
    return found


# The client inside Schemathesis leaves the temporary file of a large body open.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.slow
@pytest.mark.parametrize("who", ROLES)
def test_no_request_breaks_the_contract(world, who, settings):
    settings.ALLOWED_HOSTS = [*settings.ALLOWED_HOSTS, "localhost"]
    records.vent(world.roof, world.office_user)
    records.film(world.roof, world.office_user)
    loss = {
        "roof": str(world.roof.uuid),
        "noticed_on": "2025-03-01",
        "reported_on": "2025-03-02",
        "description": "drip",
    }
    world.office.post("/api/v1/claims", loss, content_type="application/json")
    user = person_of(world, who)
    known = ids_of(world)

    findings = fuzz(
        username=user.username,
        known=lambda segment: known.get(segment, []),
        cases=CASES // len(ROLES),
        seeded=SEED,
        # In a short run each role asks its third of the operations.
        share=(ROLES.index(who), len(ROLES)) if CASES < ENOUGH else (0, 1),
    )

    told = "\n".join(
        f"{label}\n  " + "\n  ".join(failures[:3])
        for label, failures in findings.failures.items()
    )
    print(findings.cases, dict(findings.statuses))  # noqa: T201 - the figure of the run
    assert not findings.failures, told
