"""Random requests against the served document, for one role, all checks on."""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

import schemathesis
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.core.failures import FailureGroup

from config.wsgi import application

PASSWORD = "seven gulls on a rail"
DOCUMENT = "/api/v1/openapi.json"
# What the document's schemas cannot say: refusals of well-formed requests by meaning.
BY_MEANING = [
    "2xx",
    "3xx",
    "400",
    "401",
    "403",
    "404",
    "409",
    "412",
    "415",
    "422",
    "428",
]
# How often an address is of a record that exists.
REAL_IDS = 0.6
# Codes of errors that the document's schemas do say: a well-formed request has none.
OF_SHAPE = frozenset(
    {
        "malformed",
        "unknown-member",
        "unknown-parameter",
        "invalid-choice",
        "max-length",
        "min-length",
        "max-value",
        "min-value",
        "null",
        "not-a-list",
        "not-a-dict",
        "unsupported-media-type",
    }
)


@dataclass(slots=True)
class Findings:
    """What a run came to."""

    cases: int = 0
    statuses: Counter[str] = field(default_factory=Counter)
    failures: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))


def document(username: str) -> schemathesis.BaseSchema:
    """Load the document as it is served, with every check that there is."""
    config = schemathesis.Config.from_dict(
        {
            "auth": {"basic": {"username": username, "password": PASSWORD}},
            "checks": {"positive_data_acceptance": {"expected-statuses": BY_MEANING}},
        }
    )
    return schemathesis.openapi.from_wsgi(DOCUMENT, application, config=config)


def fuzz(
    *,
    username: str,
    known: Callable[[str], list[str]],
    cases: int,
    seeded: int,
    share: tuple[int, int] = (0, 1),
) -> Findings:
    """Send so many cases, shared among all operations, and return what failed.

    ``known`` gives ids of records of a collection, so that not every address is of a
    record that does not exist. ``share`` is which of how many parts of the operations
    is asked, where there are too few cases for all.
    """
    findings = Findings()
    operations = [result.ok() for result in document(username).get_all_operations()]
    part, parts = share
    operations = operations[part::parts]
    each = max(cases // (2 * len(operations)), 1)
    for operation in operations:
        for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE):
            _operation(operation, mode, known, each, seeded, findings)
    return findings


def _operation(operation, mode, known, each, seeded, findings) -> None:
    label = f"{operation.method.upper()} {operation.path}"
    segment = operation.path.removeprefix("/api/v1/").split("/")[0]
    ids = known(segment)
    chance = random.Random(f"{seeded}{label}{mode}")  # noqa: S311 - a seeded choice

    @seed(seeded)
    @settings(
        max_examples=each,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode), data=st.data())
    def send(case, data) -> None:
        names = case.path_parameters or {}
        may_be_real = ids and "uuid" in names and not _is_negated(case, "path")
        if may_be_real and chance.random() < REAL_IDS:
            case.path_parameters["uuid"] = chance.choice(ids)
        findings.cases += 1
        try:
            response = case.call_and_validate()
        except FailureGroup as group:
            for failure in group.exceptions:
                findings.failures[label].append(
                    f"[{mode.value}] {type(failure).__name__}: {failure}\n"
                    f"    {case.as_curl_command()}"[:1500]
                )
            return
        findings.statuses[f"{mode.value} {response.status_code}"] += 1
        # No schema can say what a line of CSV holds.
        is_said = mode is GenerationMode.POSITIVE and case.media_type != "text/csv"
        if is_said and response.status_code == 400:
            codes = _codes(response.json())
            if codes & OF_SHAPE:
                findings.failures[label].append(
                    f"[shape] {sorted(codes)} {response.text[:400]}\n"
                    f"    {case.as_curl_command()}"[:1500]
                )

    try:
        send()
    except Exception as error:  # noqa: BLE001 - one operation's trouble is a finding
        findings.failures[label].append(
            f"[{mode.value}] {type(error).__name__}: {error}"[:800]
        )


def _is_negated(case, part: str) -> bool:
    components = getattr(case.meta, "components", {}) or {}
    return any(
        getattr(kind, "value", str(kind)).startswith(part)
        and info.mode is GenerationMode.NEGATIVE
        for kind, info in components.items()
    )


def _codes(body: dict) -> set[str]:
    return {body.get("code", "")} | {each["code"] for each in body.get("errors", ())}
