"""What is stored is read back: every thirty days, and by the command that verifies."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.utils import timezone

from fleet import store
from fleet.models import Damage, Exhibit, StoredFile
from fleet.selectors.exhibits import damaged_files
from fleet.store.place import place
from tests.exhibits import pictures
from tests.exhibits.sending import do_later_work, send
from tests.jobs.later import HandClock, make_run

pytestmark = pytest.mark.django_db


@pytest.fixture
def digest(world) -> str:
    # Smaller than either copy may be: its two copies are one file.
    told = send(world.office, world.roof, pictures.photo()).json()
    do_later_work()
    return told["sha256"]


def later(days: int) -> HandClock:
    """Run the check so many days later."""
    clock = HandClock(timezone.now() + timedelta(days=days))
    make_run(kind="check_files", now=clock.at)
    do_later_work(clock)
    return clock


class TestCheckFiles:
    def test_a_changed_file_is_found_after_thirty_days(self, digest):
        path = place().path_of(digest)
        path.write_bytes(path.read_bytes() + b"x")

        later(days=31)

        assert [row.sha256 for row in damaged_files()] == [digest]
        assert damaged_files().get().damage == Damage.DAMAGED

    def test_a_missing_file_is_found(self, digest):
        place().path_of(digest).unlink()

        later(days=31)

        assert damaged_files().get().damage == Damage.GONE

    def test_whole_files_and_copies_are_read_and_noted(self, digest):
        clock = later(days=31)

        assert not damaged_files().exists()
        seen = set(StoredFile.objects.values_list("checked_at", flat=True))
        assert (StoredFile.objects.count(), seen) == (2, {clock.at})

    def test_what_was_read_lately_is_left_alone(self, digest):
        before = StoredFile.objects.get(sha256=digest).checked_at

        later(days=29)

        assert StoredFile.objects.get(sha256=digest).checked_at == before


class TestVerify:
    def verify(self, capsys) -> tuple[int, dict[str, object]]:
        code = 0
        try:
            call_command("verify", json=True)
        except SystemExit as stop:
            code = int(stop.code or 0)
        return code, json.loads(capsys.readouterr().out)

    def test_whole_files_accuse_nothing(self, digest, capsys):
        code, told = self.verify(capsys)

        assert (code, told["files"], told["file_faults"]) == (0, 2, [])

    def test_a_changed_file_is_named(self, digest, capsys):
        place().path_of(digest).write_bytes(b"another")

        code, told = self.verify(capsys)

        assert code == 1
        assert [fault["sha256"] for fault in told["file_faults"]] == [digest]

    def test_a_missing_file_is_named(self, digest, capsys):
        place().path_of(digest).unlink()

        code, told = self.verify(capsys)

        assert (code, len(told["file_faults"])) == (1, 1)

    def test_a_file_whose_row_is_gone_is_still_read(self, world, capsys):
        send(world.office, world.roof, pictures.PDF)
        StoredFile.objects.all().delete()
        place().path_of(Exhibit.objects.get().sha256).unlink()

        code, told = self.verify(capsys)

        assert (code, len(told["file_faults"])) == (1, 1)


def test_what_a_crash_left_is_swept_after_a_day(settings):
    file = store.begin()
    file.write(b"half a photo")

    assert store.sweep_unfinished() == 0
    assert store.sweep_unfinished(older_than_s=-1) == 1
    file.discard()
