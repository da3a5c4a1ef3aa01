"""Alive or not, ready or not, and why."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import OperationalError
from django.db.migrations.recorder import MigrationRecorder
from django.utils import timezone

from jobs import beats
from tests.jobs.later import make_run

pytestmark = [pytest.mark.django_db, pytest.mark.urls("config.health")]


@pytest.fixture
def runner():
    """Have a runner that was seen just now."""
    beats.beat("shed:1", timezone.now())


def test_a_living_process_says_so(client):
    assert client.get("/livez").json() == {"status": "ok"}


def test_a_working_service_is_ready(client, runner):
    answer = client.get("/readyz")

    assert (answer.status_code, answer.json()["problems"]) == (200, {})


def test_without_a_runner_it_is_not_ready(client):
    answer = client.get("/readyz")

    assert answer.status_code == 503
    assert answer.json()["problems"] == {"runner": "not seen for a minute"}


def test_work_that_nobody_starts_makes_it_unready(client, runner):
    make_run(now=timezone.now() - timedelta(minutes=16))

    answer = client.get("/readyz")

    assert answer.status_code == 503
    assert set(answer.json()["problems"]) == {"later_work"}


def test_a_missing_migration_makes_it_unready(client, runner):
    MigrationRecorder.Migration.objects.filter(app="jobs").last().delete()

    answer = client.get("/readyz")

    assert answer.status_code == 503
    assert answer.json()["problems"] == {"migrations": "not all applied"}


def test_a_data_folder_that_cannot_be_written_makes_it_unready(
    client, runner, settings, tmp_path
):
    settings.DATA_DIR = tmp_path / "a file"
    settings.DATA_DIR.write_text("in the way")

    answer = client.get("/readyz")

    assert answer.status_code == 503
    assert answer.json()["problems"] == {"data_folder": "cannot be written"}


def test_a_database_that_is_away_makes_it_unready(client, monkeypatch):
    def fail(_now):
        raise OperationalError("gone")

    monkeypatch.setattr("config.health.later_work_summary", fail)

    answer = client.get("/readyz")

    assert answer.status_code == 503
    assert answer.json()["problems"] == {"database": "does not answer"}
