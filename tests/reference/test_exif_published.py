"""Time and place of a picture against the published rules and against Pillow."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from PIL import Image

from fleet.exhibits.carrier import read_header
from fleet.exhibits.exif import Capture, capture_of, parsed_offset, parsed_time
from fleet.exhibits.sniff import MediaType, media_type_of
from tests.exhibits import pictures


def header_of(data: bytes):
    """Return what the file of these bytes declares."""

    def read_at(offset: int, length: int) -> bytes:
        return data[offset : offset + length]

    return read_header(read_at, media_type_of(data))


def captured(data: bytes) -> Capture:
    return capture_of(header_of(data).exif)


CARRIERS = ["JPEG", "PNG", "WEBP"]


class TestCapture:
    @pytest.mark.parametrize("kind", CARRIERS)
    def test_the_offset_tag_wins(self, kind):
        # CIPA DC-008 4.6.5: 14:03:22 at -06:00 is 20:03:22 UTC.
        data = pictures.encoded(pictures.scene(), kind, exif=pictures.tags())

        assert captured(data).taken_at == datetime(2024, 7, 5, 20, 3, 22, tzinfo=UTC)

    @pytest.mark.parametrize("kind", CARRIERS)
    def test_degrees_minutes_and_seconds_become_degrees(self, kind):
        # deg + min / 60 + sec / 3600, CIPA DC-008 4.6.6: 40.446194 and -79.982222.
        found = captured(pictures.encoded(pictures.scene(), kind, exif=pictures.tags()))

        place = (found.latitude, found.longitude)
        assert place == (Decimal("40.446194"), Decimal("-79.982222"))

    def test_a_heic_item_is_read_from_its_boxes(self):
        block = pictures.tags().tobytes().removeprefix(b"Exif\x00\x00")

        found = captured(pictures.heic(block))

        assert found.taken_at == datetime(2024, 7, 5, 20, 3, 22, tzinfo=UTC)

    def test_without_an_offset_the_time_stays_local(self):
        found = captured(pictures.photo(offset=""))

        assert found.taken_local == datetime(2024, 7, 5, 14, 3, 22)  # noqa: DTZ001
        assert (found.offset_min, found.taken_at) == (None, None)

    def test_no_fix_is_no_place(self):
        zero = {1: "N", 2: (0.0, 0.0, 0.0), 3: "E", 4: (0.0, 0.0, 0.0)}

        assert captured(pictures.photo(place=zero)).latitude is None

    @pytest.mark.parametrize(
        "place",
        [
            {1: "X", 2: (40.0, 0.0, 0.0), 3: "W", 4: (79.0, 0.0, 0.0)},
            {2: (40.0, 0.0, 0.0), 4: (79.0, 0.0, 0.0)},
            {1: "N", 2: (91.0, 0.0, 0.0), 3: "W", 4: (79.0, 0.0, 0.0)},
            {1: "N", 2: (40.0, 0.0), 3: "W", 4: (79.0, 0.0, 0.0)},
        ],
    )
    def test_half_a_place_is_none(self, place):
        assert captured(pictures.photo(place=place)).longitude is None

    def test_the_day_of_change_is_not_the_day_of_taking(self):
        exif = Image.Exif()
        exif[0x0132] = pictures.TAKEN

        data = pictures.encoded(pictures.scene(), exif=exif)
        assert captured(data).taken_local is None

    @pytest.mark.parametrize("order", ["<", ">"])
    def test_both_byte_orders_read_alike(self, order):
        exif = pictures.tags()
        exif.endian = order
        block = exif.tobytes().removeprefix(b"Exif\x00\x00")

        assert block[:2] == {"<": b"II", ">": b"MM"}[order]
        assert capture_of(block).offset_min == -360

    @pytest.mark.parametrize("cut", range(0, 260, 7))
    def test_a_cut_block_raises_nothing(self, cut):
        block = pictures.tags().tobytes().removeprefix(b"Exif\x00\x00")

        capture_of(block[:cut])


class TestAgainstPillow:
    @pytest.mark.parametrize("kind", CARRIERS)
    @pytest.mark.parametrize("size", [(320, 240), (1, 1), (17, 301)])
    def test_the_declared_size_is_the_one_pillow_reads(self, kind, size):
        data = pictures.encoded(pictures.scene(*size), kind)
        with Image.open(io.BytesIO(data)) as image:
            expected = image.size

        found = header_of(data)
        assert (found.width_px, found.height_px) == expected == size

    @pytest.mark.parametrize(
        "options",
        [
            {"kind": "JPEG", "progressive": True},
            {"kind": "WEBP", "lossless": True},
            {"kind": "PNG", "interlace": 1},
        ],
    )
    def test_other_codings_declare_their_size_too(self, options):
        data = pictures.encoded(pictures.scene(), **options)

        assert (header_of(data).width_px, header_of(data).height_px) == (320, 240)

    def test_the_largest_extent_of_a_tiled_heic_counts(self):
        found = header_of(pictures.heic(b"MM"))

        assert (found.width_px, found.height_px) == (4032, 3024)

    @pytest.mark.parametrize("kind", CARRIERS)
    def test_the_time_is_the_text_that_pillow_reads(self, kind):
        data = pictures.encoded(pictures.scene(), kind, exif=pictures.tags())
        with Image.open(io.BytesIO(data)) as image:
            text = image.getexif().get_ifd(pictures.EXIF_IFD)[pictures.TIME]

        assert parsed_time(text) == captured(data).taken_local


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("+00:00", 0), ("-06:00", -360), ("+05:45", 345), ("+14:00", 840)],
)
def test_offsets_are_read_in_minutes_east(text, minutes):
    assert parsed_offset(text) == minutes


@pytest.mark.parametrize(
    "text", ["", "   :  ", "Z", "+6:00", "+15:00", "+05:60", "-٠٦:00", None, 6]
)
def test_what_is_no_offset_is_none(text):
    assert parsed_offset(text) is None


@pytest.mark.parametrize(
    "text", ["0000:00:00 00:00:00", "    :  :     :  :  ", "2024:02:30 10:00:00", ""]
)
def test_what_is_no_time_is_none(text):
    assert parsed_time(text) is None


def test_avif_is_not_taken_for_heic():
    # ISO/IEC 23008-12 brands; AV1 coding has its own.
    assert media_type_of(b"\0\0\0\x1cftypavif\0\0\0\0avifmif1miaf") is None
    assert media_type_of(pictures.heic()) is MediaType.HEIC
