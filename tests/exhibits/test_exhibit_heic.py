"""A real HEIC file: its clock and place are read, its copies made, its original kept.

``roof.heic`` is the invented scene of ``pictures.py`` (320 x 240 px, its tags
included), encoded once by ``heif-enc -q 40`` of libheif 1.15: the reference encoder is
the outside that our reader of boxes is held against.
"""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image, ImageChops, ImageStat

from fleet import store
from fleet.models import Exhibit, StoredFile
from tests.exhibits import pictures
from tests.exhibits.sending import do_later_work, send

pytest.importorskip("pi_heif")

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
CONTENT = Path(__file__).with_name("roof.heic").read_bytes()


@pytest.fixture
def exhibit(world) -> Exhibit:
    answer = send(world.technician, world.roof, CONTENT, name="IMG_0001.HEIC")
    assert answer.status_code == 201, answer.content
    do_later_work()
    return Exhibit.objects.get()


def test_its_own_clock_and_place_are_read(exhibit):
    assert exhibit.media_type == "image/heic"
    assert (exhibit.taken_local, exhibit.taken_offset_min) == (
        "2024-07-05T14:03:22",
        -360,
    )
    assert exhibit.place.body == "40.446194 -79.982222"


def test_its_copies_show_the_scene_and_tell_nothing(exhibit):
    file = StoredFile.objects.get(sha256=exhibit.sha256)
    copies = {row.edge_px: row for row in file.derivatives.all()}

    assert file.look == "DEVELOPED"
    assert set(copies) == {1600, 320}
    shown = Image.open(io.BytesIO(store.fetch(copies[320].sha256)))
    assert (shown.format, shown.size) == ("JPEG", (320, 240))
    assert not shown.getexif()
    # Lossy twice: seldom off by more than a few of 255 levels.
    apart = ImageChops.difference(shown.convert("L"), pictures.scene().convert("L"))
    assert ImageStat.Stat(apart).mean[0] < 4


def test_the_original_is_kept_byte_for_byte(exhibit):
    assert store.fetch(exhibit.sha256) == CONTENT
