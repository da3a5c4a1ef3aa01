"""Files made to hurt whoever opens them. None is from anywhere: all are generated."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator

from PIL import Image

from tests.exhibits import pictures

PNG_MARK = b"\x89PNG\r\n\x1a\n"


def chunk(kind: bytes, body: bytes) -> bytes:
    crc = zlib.crc32(kind + body)
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", crc)


def png(width: int, height: int, data: bytes, *extra: bytes, depth: int = 8) -> bytes:
    """A greyscale PNG with these compressed rows, whatever its header claims."""
    header = struct.pack(">IIBBBBB", width, height, depth, 0, 0, 0, 0)
    return b"".join(
        (
            PNG_MARK,
            chunk(b"IHDR", header),
            *extra,
            chunk(b"IDAT", data),
            chunk(b"IEND", b""),
        )
    )


def flat_png(edge_px: int) -> bytes:
    """A one-colour PNG of so many pixels a side, row by row, in little memory."""
    packer = zlib.compressobj(9)
    rows = b"".join(packer.compress(bytes(1 + edge_px)) for _ in range(edge_px))
    return png(edge_px, edge_px, rows + packer.flush())


def truncated() -> Iterator[tuple[str, bytes]]:
    """Every kind, cut at every twentieth."""
    whole = {
        "jpeg": pictures.photo(),
        "png": pictures.encoded(pictures.scene(), "PNG"),
        "webp": pictures.encoded(pictures.scene(), "WEBP"),
    }
    for kind, data in whole.items():
        for part in range(5, 100, 5):
            yield f"{kind} cut at {part} %", data[: len(data) * part // 100]


def polyglots() -> Iterator[tuple[str, bytes]]:
    """Files that are two things at once."""
    photo, script = pictures.photo(), b"<script>alert(1)</script>"
    yield "a photo with a zip behind it", photo + b"PK\x03\x04" + bytes(200)
    yield "a photo with a page behind it", photo + b"<html>" + script
    yield (
        "a page in a photo's comment",
        pictures.encoded(pictures.scene(), comment=b"<html>" + script),
    )
    yield "a document with a page in it", b"%PDF-1.4\n" + script
    yield "a photo's mark before a page", b"\xff\xd8\xff\xe0" + script
    yield "a document after a photo's mark", b"\xff\xd8\xff" + pictures.PDF
    yield "a PNG's mark and nothing", PNG_MARK
    yield "a WebP's mark and nothing", b"RIFF\xff\xff\xff\xffWEBP"
    yield "a HEIC's mark and nothing", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"


def foreign() -> Iterator[tuple[str, bytes]]:
    """What is no exhibit, under a photo's name."""
    frames = [Image.new("P", (8, 8), n % 7) for n in range(2000)]
    for frame in frames:
        frame.putpalette([n for n in range(256) for _ in range(3)])
    yield (
        "a GIF of 2,000 frames",
        pictures.encoded(frames[0], "GIF", save_all=True, append_images=frames[1:]),
    )
    yield "a BMP", pictures.encoded(pictures.scene(), "BMP")
    yield "a TIFF", pictures.encoded(pictures.scene(), "TIFF")
    yield (
        "an SVG with a script",
        b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>",
    )
    yield "a page", b"<!doctype html><script>alert(1)</script>"
    yield "a program", b"#!/bin/sh\nexit 1\n"
    yield "zeros", bytes(5000)
    yield "one byte", b"\xff"


def bombs() -> Iterator[tuple[str, bytes]]:
    """Small files that declare or unfold into much."""
    empty = zlib.compress(b"")
    yield "a header of 1.6 Gpx", png(40_000, 40_000, empty)
    yield "a header of no pixels", png(0, 0, empty)
    yield "a header of 2^31 by 2^31", png(2**31 - 1, 2**31 - 1, empty)
    yield "144 Mpx in a few hundred kB", flat_png(12_000)
    yield "36 Mpx in a few kB", flat_png(6_000)
    many = b"".join(
        chunk(b"fcTL", struct.pack(">IIIIIHHBB", n, 64, 64, 0, 0, 1, 100, 0, 0))
        for n in range(3000)
    )
    rows = zlib.compress(bytes(65 * 64))
    yield (
        "an APNG of 3,000 frames",
        png(64, 64, rows, chunk(b"acTL", struct.pack(">II", 3000, 0)) + many),
    )
    yield (
        "a PNG of 100,000 chunks",
        png(64, 64, rows, chunk(b"tEXt", b"a\0b") * 100_000),
    )
    text = zlib.compress(bytes(64 * 1024 * 1024), 9)
    yield (
        "a text that unfolds to 64 MiB",
        png(64, 64, rows, chunk(b"zTXt", b"Comment\0\0" + text)),
    )
    yield (
        "a colour profile that unfolds to 64 MiB",
        png(64, 64, rows, chunk(b"iCCP", b"icc\0\0" + text)),
    )
    yield "rows that unfold to 64 MiB", png(64, 64, text)
    for name, block in exif_traps():
        wrapped = b"Exif\0\0" + block
        head = b"\xff\xe1" + struct.pack(">H", len(wrapped) + 2) + wrapped
        yield name, b"\xff\xd8" + head + pictures.photo()[2:]
    yield (
        "a colour profile of noise",
        pictures.encoded(pictures.scene(), icc_profile=bytes(range(256)) * 200),
    )


def exif_traps() -> Iterator[tuple[str, bytes]]:
    """EXIF blocks whose offsets and counts lie."""
    little = b"II*\0"
    yield (
        "EXIF that points at itself",
        little + struct.pack("<IHHHIII", 8, 1, 0x8769, 4, 1, 8, 8),
    )
    yield "EXIF of 65,535 entries", little + struct.pack("<IH", 8, 65_535)
    yield "EXIF that points outside", little + struct.pack("<I", 0xFFFFFFF0)
    yield (
        "EXIF with a text of 4 GiB",
        little + struct.pack("<IHHHIII", 8, 1, 0x9003, 2, 0xFFFFFFFF, 8, 0),
    )
    yield "EXIF full of noise", little + bytes(range(256)) * 250
    yield "EXIF of one byte", b"I"


def corpus() -> list[tuple[str, bytes]]:
    """All of them, by what they are."""
    return [*truncated(), *polyglots(), *foreign(), *bombs()]
