"""No file makes the register fail, kills its worker or takes its memory."""

from __future__ import annotations

import resource

import pytest

from fleet.exhibits.limits import DECODER_MEMORY_BYTES
from fleet.exhibits.sniff import MediaType
from fleet.models import Exhibit, Look, StoredFile
from jobs.darkroom import develop_apart
from jobs.models import Run, RunState
from tests.exhibits.hostile import corpus
from tests.exhibits.sending import do_later_work, send

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

EXPECTED = {201, 400, 413, 415, 422}
WEB_GROWTH_KIB = 200 * 1024


def test_a_corpus_of_hostile_files_is_taken_or_refused_and_nothing_breaks(
    world, record_property, monkeypatch
):
    files = corpus()
    before_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    statuses = {
        name: send(world.office, world.roof, content).status_code
        for name, content in files
    }
    grown_kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kib
    peaks = peaks_of_decoders(monkeypatch)
    do_later_work()

    assert len(files) >= 60
    assert {n: s for n, s in statuses.items() if s not in EXPECTED} == {}
    # Nothing is left behind: each picture was developed or called unreadable.
    assert Run.objects.exclude(state=RunState.DONE).count() == 0
    assert not StoredFile.objects.filter(look=Look.PENDING).exists()
    assert grown_kib < WEB_GROWTH_KIB
    assert 0 < max(peaks) < DECODER_MEMORY_BYTES
    record_property("files", len(files))
    record_property("taken", list(statuses.values()).count(201))
    record_property("decoder_peak_mib", max(peaks) >> 20)


def peaks_of_decoders(monkeypatch) -> list[int]:
    """Note what each decoder says it held.

    What the system counts for children begins with what this process holds.
    """
    peaks: list[int] = []

    def noting(*arguments):
        made = develop_apart(*arguments)
        peaks.append(made.peak_bytes)
        return made

    monkeypatch.setattr("jobs.exhibits.develop_apart", noting)
    return peaks


@pytest.mark.parametrize(
    "name",
    [
        "a header of 1.6 Gpx",
        "a header of 2^31 by 2^31",
        "144 Mpx in a few hundred kB",
        "36 Mpx in a few kB",
    ],
)
def test_a_bomb_is_refused_by_its_header(world, name):
    content = dict(corpus())[name]

    answer = send(world.office, world.roof, content)

    assert (answer.status_code, answer.json()["code"]) == (422, "picture-refused")


def test_a_cut_photo_is_kept_and_called_unreadable(world):
    content = dict(corpus())["jpeg cut at 60 %"]

    assert send(world.office, world.roof, content).status_code == 201
    do_later_work()

    row = StoredFile.objects.get(sha256=Exhibit.objects.get().sha256)
    assert row.look == Look.UNREADABLE
    assert row.damage == ""


def test_the_decoder_refuses_a_bomb_that_no_header_check_saw(tmp_path):
    source = tmp_path / "bomb.png"
    source.write_bytes(dict(corpus())["144 Mpx in a few hundred kB"])

    made = develop_apart(source, MediaType.PNG, tmp_path)

    assert made.outcome == "UNREADABLE"
    assert made.peak_bytes < 100 * 1024 * 1024


def test_a_decoder_that_takes_too_long_is_stopped(tmp_path, monkeypatch):
    monkeypatch.setattr("jobs.darkroom.DECODER_WALL_S", 0.001)

    made = develop_apart(tmp_path / "none.jpg", MediaType.JPEG, tmp_path)

    assert (made.outcome, made.reason) == (
        "UNREADABLE",
        "It took too long to decode.",
    )


def test_a_decoder_that_dies_is_only_a_picture_that_cannot_be_read(
    tmp_path, monkeypatch
):
    monkeypatch.setattr("jobs.darkroom.sys.executable", "/bin/false")

    made = develop_apart(tmp_path / "none.jpg", MediaType.JPEG, tmp_path)

    assert made.outcome == "UNREADABLE"
    assert "code 1" in made.reason
