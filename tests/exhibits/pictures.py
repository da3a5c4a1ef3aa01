"""Small made-up pictures and files, with and without what cameras write into them."""

from __future__ import annotations

import io

from PIL import Image, ImageDraw

ORIENTATION, EXIF_IFD, GPS_IFD = 0x0112, 0x8769, 0x8825
TIME, OFFSET = 0x9003, 0x9011
TAKEN, TAKEN_OFFSET = "2024:07:05 14:03:22", "-06:00"
# 40 26 46.3 N, 79 58 56 W
PLACE = {1: "N", 2: (40.0, 26.0, 46.3), 3: "W", 4: (79.0, 58.0, 56.0)}


def scene(
    width_px: int = 320, height_px: int = 240, shade: int = 40, at: int = 0
) -> Image.Image:
    """A white roof with a vent and a seam: light, with a few dark shapes."""
    image = Image.new("RGB", (width_px, height_px), (235, 235, 230))
    draw = ImageDraw.Draw(image)
    across, down = width_px / 320, height_px / 240
    draw.rectangle(
        [(40 + at) * across, 50 * down, (130 + at) * across, 120 * down],
        fill=(shade, shade, shade),
    )
    draw.ellipse([200 * across, 30 * down, 260 * across, 90 * down], fill=(90, 90, 120))
    draw.line([0, 180 * down, width_px, 200 * down], fill=(60, 60, 60), width=6)
    return image


def tags(
    *, taken: str = TAKEN, offset: str = TAKEN_OFFSET, orientation: int = 1, place=PLACE
) -> Image.Exif:
    """What a camera writes."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    exif[0x010F], exif[0x0131] = "Invented", "camera 1"
    detail = exif.get_ifd(EXIF_IFD)
    if taken:
        detail[TIME] = taken
    if offset:
        detail[OFFSET] = offset
    detail[0xA431] = "SERIAL-4711"
    if place:
        exif.get_ifd(GPS_IFD).update(place)
    return exif


def encoded(image: Image.Image, kind: str = "JPEG", **options: object) -> bytes:
    target = io.BytesIO()
    image.save(target, kind, **options)
    return target.getvalue()


def photo(**over: object) -> bytes:
    """A JPEG as a phone makes it."""
    return encoded(scene(), "JPEG", quality=90, exif=tags(**over))


def boxed(kind: bytes, *parts: bytes) -> bytes:
    body = b"".join(parts)
    return (len(body) + 8).to_bytes(4, "big") + kind + body


def heic(exif: bytes = b"", pixels: int = 100_000) -> bytes:
    """The boxes of a HEIC photo of 4032 x 3024 px in tiles, its pixels zeros."""

    def number(value: int, size: int = 2) -> bytes:
        return value.to_bytes(size, "big")

    def entry(item: int, kind: bytes) -> bytes:
        return boxed(b"infe", b"\x02\0\0\0", number(item), number(0), kind, b"\0")

    def meta(offset: int) -> bytes:
        ispe = [
            boxed(b"ispe", bytes(4), number(w, 4), number(h, 4))
            for w, h in ((512, 512), (4032, 3024))
        ]
        items = boxed(
            b"iinf", bytes(4), number(2), entry(1, b"grid"), entry(2, b"Exif")
        )
        place = boxed(
            b"iloc",
            bytes(4),
            b"\x44\x00",
            number(1),
            number(2) + number(0) + number(1),
            number(offset, 4) + number(len(exif) + 4, 4),
        )
        properties = boxed(b"iprp", boxed(b"ipco", *ispe))
        return boxed(b"meta", bytes(4), items, place, properties)

    head = boxed(b"ftyp", b"heic", bytes(4), b"mif1heic")
    data = number(0, 4) + exif + bytes(pixels)
    at = len(head) + len(meta(0)) + 8
    return head + meta(at) + boxed(b"mdat", data)


PDF = b"%PDF-1.7\n1 0 obj<</Type/Catalog>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n"
