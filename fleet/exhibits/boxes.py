"""Size and EXIF item of a HEIC file, from its boxes."""

from __future__ import annotations

from collections.abc import Callable, Iterator

MAX_BOXES = 200
MAX_META_BYTES = 1024 * 1024
MAX_ITEMS = 4096
MAX_EXIF_BYTES = 256 * 1024

ReadAt = Callable[[int, int], bytes]


def heic_header(read_at: ReadAt) -> tuple[int, int, bytes]:
    """Return width and height [px] and the EXIF block of a HEIC file.

    Zeros and nothing where they cannot be read. The largest extent counts: a photo
    is often tiled, and each tile has an extent of its own.

    References
    ----------
    .. [1] ISO/IEC 14496-12 8.11 (meta, iinf, iloc); ISO/IEC 23008-12 6.5.3 (ispe)
       and A.2.1 (an Exif item begins with the offset of its TIFF header).
    """
    meta = _meta(read_at)
    width_px = height_px = 0
    exif_id, places = 0, b""
    for kind, body in _boxes(meta):
        if kind == b"iprp":
            width_px, height_px = _largest_extent(body)
        elif kind == b"iinf":
            exif_id = _exif_item(body)
        elif kind == b"iloc":
            places = body
    exif = b""
    if exif_id and places:
        offset, length = _place_of(places, exif_id)
        exif = _exif_at(read_at, offset, length)
    return width_px, height_px, exif


def _exif_at(read_at: ReadAt, offset: int, length: int) -> bytes:
    if not 4 < length <= MAX_EXIF_BYTES:
        return b""
    item = read_at(offset, length)
    return item[4 + int.from_bytes(item[:4], "big") :]


def _meta(read_at: ReadAt) -> bytes:
    at = 0
    for _ in range(MAX_BOXES):
        head = read_at(at, 16)
        if len(head) < 8:
            return b""
        size, skip = int.from_bytes(head[:4], "big"), 8
        if size == 1:
            size, skip = int.from_bytes(head[8:16], "big"), 16
        if head[4:8] == b"meta":
            return read_at(at + skip + 4, min(size - skip - 4, MAX_META_BYTES))
        if size < skip:
            return b""
        at += size
    return b""


def _boxes(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = 0
    for _ in range(MAX_ITEMS):
        size = int.from_bytes(data[at : at + 4], "big")
        if size < 8 or at + 8 > len(data):
            return
        yield data[at + 4 : at + 8], data[at + 8 : at + size]
        at += size


def _largest_extent(properties: bytes) -> tuple[int, int]:
    found = [(0, 0)]
    for kind, container in _boxes(properties):
        if kind != b"ipco":
            continue
        for name, body in _boxes(container):
            if name == b"ispe" and len(body) >= 12:
                width, height = body[4:8], body[8:12]
                found.append(
                    (int.from_bytes(width, "big"), int.from_bytes(height, "big"))
                )
    return max(found, key=lambda extent: extent[0] * extent[1])


def _exif_item(body: bytes) -> int:
    """Return the id of the item of the type Exif, or zero."""
    start = 6 if body[:1] == b"\x00" else 8
    for kind, entry in _boxes(body[start:]):
        wide = entry[:1] == b"\x03"
        end = 8 if wide else 6
        if kind == b"infe" and entry[end + 2 : end + 6] == b"Exif":
            return int.from_bytes(entry[4:end], "big")
    return 0


def _place_of(body: bytes, wanted: int) -> tuple[int, int]:
    """Return offset and length in the file of an item stored in one piece."""
    version = body[0]
    offset_size, length_size = body[4] >> 4, body[4] & 15
    base_size = body[5] >> 4
    index_size = body[5] & 15 if version else 0
    id_size = 4 if version == 2 else 2
    at = 6 + id_size
    items = int.from_bytes(body[6:at], "big")

    def number(size: int) -> int:
        nonlocal at
        at += size
        return int.from_bytes(body[at - size : at], "big")

    for _ in range(min(items, MAX_ITEMS)):
        item = number(id_size)
        method = number(2) & 15 if version else 0
        number(2)  # data reference
        base = number(base_size)
        extents = number(2)
        if item == wanted:
            number(index_size)
            offset, length = number(offset_size), number(length_size)
            return (base + offset, length) if method == 0 and extents == 1 else (0, 0)
        at += extents * (index_size + offset_size + length_size)
        if at > len(body):
            break
    return 0, 0
