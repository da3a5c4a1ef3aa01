"""Where a picture's file carries its size and its EXIF block.

Reads a few headers by offset, never the pixels, and never more than is asked for here,
whatever lengths the file claims.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fleet.exhibits.boxes import heic_header
from fleet.exhibits.sniff import MediaType

# Returns up to so many bytes from an offset; fewer at the end of the file.
ReadAt = Callable[[int, int], bytes]

MAX_PARTS = 2000
MAX_EXIF_BYTES = 256 * 1024
EXIF_MARK = b"Exif\x00\x00"


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What the file declares. Zero width: it declares none that can be read."""

    width_px: int = 0
    height_px: int = 0
    exif: bytes = b""  # a TIFF block, or nothing


def read_header(read_at: ReadAt, media_type: MediaType) -> Header:
    """Return the size and the EXIF block that a picture's file declares.

    Parameters
    ----------
    read_at : callable
        Gives up to ``length`` bytes from ``offset``.
    media_type : MediaType
        As sniffed. A PDF declares nothing here.

    Notes
    -----
    A damaged or cut file gives what could be read before the damage; this never
    raises for what a file contains.

    References
    ----------
    .. [1] ITU-T T.81 Annex B (JPEG markers); ISO/IEC 15948 clause 11 (PNG chunks,
       eXIf in the third edition); RFC 9649 section 2 (WebP chunks); ISO/IEC 23008-12
       (HEIC items); CIPA DC-008 4.7 (EXIF in APP1).
    """
    if media_type is MediaType.JPEG:
        return _jpeg(read_at)
    if media_type is MediaType.PNG:
        return _png(read_at)
    if media_type is MediaType.WEBP:
        return _webp(read_at)
    if media_type is MediaType.HEIC:
        width_px, height_px, exif = heic_header(read_at)
        return Header(width_px=width_px, height_px=height_px, exif=_bare(exif))
    return Header()


def _jpeg(read_at: ReadAt) -> Header:
    at, exif = 2, b""
    for _ in range(MAX_PARTS):
        head = read_at(at, 4)
        if len(head) < 4 or head[0] != 0xFF:
            break
        marker, length = head[1], int.from_bytes(head[2:4], "big")
        if marker == 0xFF:  # a fill byte
            at += 1
            continue
        if marker == 0xDA or length < 2:
            break
        if marker == 0xE1 and not exif:
            block = read_at(at + 4, length - 2)
            exif = _bare(block) if block.startswith(EXIF_MARK) else b""
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            frame = read_at(at + 5, 4)
            return Header(
                width_px=int.from_bytes(frame[2:4], "big"),
                height_px=int.from_bytes(frame[:2], "big"),
                exif=exif,
            )
        at += 2 + length
    return Header(exif=exif)


def _png(read_at: ReadAt) -> Header:
    size = read_at(16, 8)
    at, exif = 8, b""
    for _ in range(MAX_PARTS):
        head = read_at(at, 8)
        if len(head) < 8 or head[4:] == b"IEND":
            break
        length = int.from_bytes(head[:4], "big")
        if head[4:] == b"eXIf" and length <= MAX_EXIF_BYTES:
            exif = _bare(read_at(at + 8, length))
            break
        at += 12 + length
    return Header(
        width_px=int.from_bytes(size[:4], "big"),
        height_px=int.from_bytes(size[4:8], "big"),
        exif=exif,
    )


def _webp(read_at: ReadAt) -> Header:
    at, width_px, height_px, exif = 12, 0, 0, b""
    for _ in range(MAX_PARTS):
        head = read_at(at, 8)
        if len(head) < 8:
            break
        kind, length = head[:4], int.from_bytes(head[4:], "little")
        if not width_px:
            width_px, height_px = _webp_size(kind, read_at(at + 8, 10))
        if kind == b"EXIF" and length <= MAX_EXIF_BYTES:
            exif = _bare(read_at(at + 8, length))
            break
        at += 8 + length + length % 2
    return Header(width_px=width_px, height_px=height_px, exif=exif)


def _webp_size(kind: bytes, body: bytes) -> tuple[int, int]:
    if kind == b"VP8X" and len(body) == 10:
        width, height = body[4:7], body[7:10]
        return int.from_bytes(width, "little") + 1, int.from_bytes(height, "little") + 1
    if kind == b"VP8L" and body[:1] == b"\x2f":
        bits = int.from_bytes(body[1:5], "little")
        return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
    if kind == b"VP8 " and body[3:6] == b"\x9d\x01\x2a":
        width, height = body[6:8], body[8:10]
        return (
            int.from_bytes(width, "little") & 0x3FFF,
            int.from_bytes(height, "little") & 0x3FFF,
        )
    return 0, 0


def _bare(block: bytes) -> bytes:
    """Return the TIFF block without the mark that some files put before it."""
    return block.removeprefix(EXIF_MARK)[:MAX_EXIF_BYTES]
