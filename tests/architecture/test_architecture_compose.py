"""The compose file is valid, pinned, watched, and names only settings that exist.

Schema: Compose Specification, as shipped by docker-compose 1.29.2; see README.md.
"""

from __future__ import annotations

import copy
import json
import re

import pytest
import yaml
from django.conf import settings
from jsonschema import Draft201909Validator

from config import celeryconfig
from jobs import bell
from jobs.models import Lane

BESIDE = settings.BASE_DIR / "tests" / "architecture"
WORKERS = {"worker", "worker-notices", "worker-webhooks", "worker-heavy"}
OWN_SERVICES = {"migrate", "web", "beat"} | WORKERS


@pytest.fixture(scope="module")
def compose() -> dict:
    return yaml.safe_load((settings.BASE_DIR / "docker-compose.yml").read_text())


@pytest.fixture(scope="module")
def schema() -> Draft201909Validator:
    return Draft201909Validator(json.loads((BESIDE / "compose_spec.json").read_text()))


def test_the_file_keeps_to_the_specification(compose, schema):
    assert [error.message for error in schema.iter_errors(compose)] == []


def test_the_specification_refuses_an_unknown_key(compose, schema):
    broken = copy.deepcopy(compose)
    broken["services"]["web"]["helthcheck"] = {}

    assert not schema.is_valid(broken)


def test_every_image_is_pinned(compose):
    images = [service["image"] for service in compose["services"].values()]

    # A version, or the dated release of a project that numbers none.
    pinned = re.compile(r":(\d+\.\d+|RELEASE\.\d{4}-\d\d-\d\d)")
    assert all(pinned.search(image) for image in images), images


def test_the_dockerfile_is_pinned_and_ends_without_root():
    text = (settings.BASE_DIR / "Dockerfile").read_text()

    assert re.match(r"FROM python:3\.11-slim-\w+\n", text)
    assert "--require-hashes" in text
    assert re.findall(r"^USER (\w+)$", text, re.MULTILINE)[-1] == "roofreg"


def test_every_lasting_service_has_a_health_check(compose):
    lasting = set(compose["services"]) - {"migrate"}

    assert lasting == {
        name
        for name, service in compose["services"].items()
        if "healthcheck" in service
    }


def test_nothing_starts_before_the_migrations(compose):
    for name in OWN_SERVICES - {"migrate"}:
        waits = compose["services"][name]["depends_on"]
        assert waits["migrate"]["condition"] == "service_completed_successfully"
        assert waits["database"]["condition"] == "service_healthy"


def test_every_volume_used_is_named(compose):
    used = {
        volume.split(":")[0]
        for service in compose["services"].values()
        for volume in service.get("volumes", [])
    }

    assert used == set(compose["volumes"])


def test_every_variable_given_is_read(compose):
    code = (settings.BASE_DIR / "config" / "settings.py").read_text()
    given = set(compose["services"]["web"]["environment"])
    # The object store's client library reads these two by itself.
    given -= {"AWS_ACCESS_KEY_ID", "AWS_SECRET_ACCESS_KEY"}

    assert given <= set(re.findall(r'"(ROOFREG_\w+)"', code))


def test_no_port_is_open_to_the_world(compose):
    for service in compose["services"].values():
        for port in service.get("ports", []):
            assert port.startswith("127.0.0.1:")


def test_every_lane_has_a_worker_of_its_own(compose):
    queues = []
    for name in WORKERS:
        command = compose["services"][name]["command"]
        queues.append(command[command.index("--queues") + 1])

    wanted = [f"{lane.lower()},{lane.lower()}-sweep" for lane in Lane.values]
    assert sorted(queues) == sorted(wanted)


def test_the_broker_neither_forgets_nor_evicts(compose):
    command = " ".join(compose["services"]["broker"]["command"])

    assert "--appendonly yes" in command
    assert "--maxmemory-policy noeviction" in command


class TestCelerySettings:
    def test_a_task_ends_long_before_it_is_delivered_again(self):
        assert celeryconfig.task_soft_time_limit < celeryconfig.task_time_limit
        visibility_s = celeryconfig.broker_transport_options["visibility_timeout"]
        assert visibility_s >= 3 * celeryconfig.task_time_limit

    def test_looks_do_not_queue_behind_bells(self):
        for entry in celeryconfig.beat_schedule.values():
            lane = entry["kwargs"]["lane"]
            assert entry["options"]["queue"] == f"{bell.queue_of(lane)}-sweep"

    def test_every_lane_is_swept(self):
        swept = {
            entry["kwargs"]["lane"] for entry in celeryconfig.beat_schedule.values()
        }
        assert swept == set(Lane.values)
