"""When and where a picture says it was taken."""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

MAX_ENTRIES = 512
MAX_TEXT_BYTES = 64
TIME_FORMAT = "%Y:%m:%d %H:%M:%S"
WIDEST_OFFSET_MIN = 14 * 60

# CIPA DC-008 (Exif), tables 4 to 15: tag numbers.
EXIF_IFD, GPS_IFD = 0x8769, 0x8825
TIME_ORIGINAL, TIME_DIGITIZED = 0x9003, 0x9004
OFFSET_ORIGINAL, OFFSET_DIGITIZED = 0x9011, 0x9012
LATITUDE_REF, LATITUDE, LONGITUDE_REF, LONGITUDE = 1, 2, 3, 4
TEXT, SHORT, LONG, RATIONAL = 2, 3, 4, 5
SIZES = {TEXT: 1, SHORT: 2, LONG: 4, RATIONAL: 8}

Value = str | tuple[int, ...] | tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Capture:
    """What a picture says of its own making. Editable by anyone: never a proof."""

    taken_local: datetime | None = None  # the camera's wall clock, without a zone
    offset_min: int | None = None  # east of UTC; None: the camera did not say
    latitude: Decimal | None = None  # [degree], north positive, six decimals
    longitude: Decimal | None = None  # [degree], east positive, six decimals

    @property
    def taken_at(self) -> datetime | None:
        """Return the instant, known only where the camera told its offset."""
        if self.taken_local is None or self.offset_min is None:
            return None
        zone = timezone(timedelta(minutes=self.offset_min))
        return self.taken_local.replace(tzinfo=zone).astimezone(UTC)


def capture_of(block: bytes) -> Capture:
    """Return time and place from a TIFF block of EXIF; what is unreadable is left out.

    Parameters
    ----------
    block : bytes
        From the byte-order mark on. Offsets in it that lead outside are not followed.

    Notes
    -----
    The offset tag that belongs to the time wins. Without one the time stays a local
    time without a zone: it is never taken for UTC. The plain DateTime tag is not
    used, as it tells when the file was changed. Zero latitude with zero longitude
    means that the camera had no fix.

    References
    ----------
    .. [1] CIPA DC-008-2019 4.6.5 (times; OffsetTime tags since 2.31) and 4.6.6 (GPS).
       TIFF 6.0 section 2 (directories).
    """
    order = {b"II": "<", b"MM": ">"}.get(block[:2])
    if order is None or len(block) < 8:
        return Capture()
    [first] = struct.unpack_from(f"{order}I", block, 4)
    main = _directory(block, first, order)
    detail = _directory(block, _pointer(main, EXIF_IFD), order)
    gps = _directory(block, _pointer(main, GPS_IFD), order)
    taken_local, offset_min = _time(detail)
    latitude, longitude = _place(gps)
    return Capture(
        taken_local=taken_local,
        offset_min=offset_min,
        latitude=latitude,
        longitude=longitude,
    )


def _directory(block: bytes, at: int, order: str) -> dict[int, Value]:
    if not 8 <= at <= len(block) - 2:
        return {}
    [count] = struct.unpack_from(f"{order}H", block, at)
    found: dict[int, Value] = {}
    for number in range(min(count, MAX_ENTRIES)):
        place = at + 2 + 12 * number
        if place + 12 > len(block):
            break
        tag, kind, length = struct.unpack_from(f"{order}HHI", block, place)
        value = _value(block, place + 8, kind, length, order)
        if value is not None and tag not in found:
            found[tag] = value
    return found


def _value(
    block: bytes, place: int, kind: int, length: int, order: str
) -> Value | None:
    size = SIZES.get(kind, 0) * length
    if not 0 < size <= MAX_TEXT_BYTES:
        return None
    if size > 4:
        [place] = struct.unpack_from(f"{order}I", block, place)
    raw = block[place : place + size]
    if len(raw) < size:
        return None
    if kind == TEXT:
        return raw.split(b"\x00")[0].decode("ascii", "replace").strip()
    if kind == RATIONAL:
        numbers = struct.unpack(f"{order}{2 * length}I", raw)
        return tuple(zip(numbers[::2], numbers[1::2], strict=True))
    return struct.unpack(f"{order}{length}{'H' if kind == SHORT else 'I'}", raw)


def _pointer(directory: Mapping[int, Value], tag: int) -> int:
    value = directory.get(tag)
    first = value[0] if isinstance(value, tuple) and len(value) == 1 else 0
    return first if isinstance(first, int) else 0


def _time(detail: Mapping[int, Value]) -> tuple[datetime | None, int | None]:
    for time_tag, offset_tag in (
        (TIME_ORIGINAL, OFFSET_ORIGINAL),
        (TIME_DIGITIZED, OFFSET_DIGITIZED),
    ):
        taken = parsed_time(detail.get(time_tag))
        if taken is not None:
            return taken, parsed_offset(detail.get(offset_tag))
    return None, None


def parsed_time(value: object) -> datetime | None:
    """Return a time written ``YYYY:MM:DD HH:MM:SS``, or None for anything else."""
    if not isinstance(value, str) or not value.isascii() or len(value) != 19:
        return None
    try:
        # Without a zone on purpose: a camera that tells none is not in UTC.
        return datetime.strptime(value, TIME_FORMAT)  # noqa: DTZ007
    except ValueError:
        return None


def parsed_offset(value: object) -> int | None:
    """Return an offset written ``+HH:MM`` in minutes east of UTC, or None."""
    if not isinstance(value, str) or len(value) != 6 or value[0] not in "+-":
        return None
    hours, colon, minutes = value[1:3], value[3], value[4:]
    digits = hours + minutes
    if colon != ":" or not (digits.isascii() and digits.isdigit()):
        return None
    total = int(hours) * 60 + int(minutes)
    if int(minutes) > 59 or total > WIDEST_OFFSET_MIN:
        return None
    return -total if value[0] == "-" else total


def _place(gps: Mapping[int, Value]) -> tuple[Decimal | None, Decimal | None]:
    latitude = _degrees(gps.get(LATITUDE), gps.get(LATITUDE_REF), "NS", 90)
    longitude = _degrees(gps.get(LONGITUDE), gps.get(LONGITUDE_REF), "EW", 180)
    if latitude is None or longitude is None or (latitude == 0 and longitude == 0):
        return None, None
    return latitude, longitude


def _degrees(
    value: Value | None, reference: Value | None, signs: str, limit: int
) -> Decimal | None:
    """Return degrees + minutes / 60 + seconds / 3600, signed by the reference."""
    if not isinstance(value, tuple) or len(value) != 3:
        return None
    if not isinstance(reference, str) or len(reference) != 1 or reference not in signs:
        return None
    total = Decimal(0)
    for part, divisor in zip(value, (1, 60, 3600), strict=True):
        if not isinstance(part, tuple) or part[1] == 0:
            return None
        total += Decimal(part[0]) / part[1] / divisor
    if total > limit:
        return None
    signed = -total if reference == signs[1] else total
    return signed.quantize(Decimal("0.000001"))
