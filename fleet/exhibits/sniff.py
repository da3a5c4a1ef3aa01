"""What kind of file some bytes are, by their first bytes alone."""

from __future__ import annotations

from enum import StrEnum

SNIFF_BYTES = 64


class MediaType(StrEnum):
    """The kinds of file that can be an exhibit."""

    JPEG = "image/jpeg"
    PNG = "image/png"
    WEBP = "image/webp"
    HEIC = "image/heic"
    PDF = "application/pdf"

    @property
    def is_picture(self) -> bool:
        """Return whether it can be looked at as a picture."""
        return self is not MediaType.PDF

    @property
    def suffix(self) -> str:
        """Return the ending of a name for it."""
        return SUFFIXES[self]


SUFFIXES = {
    MediaType.JPEG: ".jpg",
    MediaType.PNG: ".png",
    MediaType.WEBP: ".webp",
    MediaType.HEIC: ".heic",
    MediaType.PDF: ".pdf",
}
# HEVC-coded stills and their generic brands; AV1-coded ones are another format.
HEIC_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1"})
OTHER_BRANDS = frozenset({b"avif", b"avis"})


def media_type_of(head: bytes) -> MediaType | None:
    """Return the kind of a file from its first bytes, or None if it is none of ours.

    Parameters
    ----------
    head : bytes
        At least the first :data:`SNIFF_BYTES` bytes, or the whole of a shorter file.

    Notes
    -----
    Neither the name's ending nor the type a sender declares has a say.

    References
    ----------
    .. [1] JPEG: ITU-T T.81 B.1.1.3 (SOI, then a marker). PNG: ISO/IEC 15948 5.2.
       WebP: RFC 9649 section 2.4. HEIC: ISO/IEC 23008-12 (brands), ISO/IEC 14496-12
       4.3 (file type box). PDF: ISO 32000-1 7.5.2.
    """
    if head.startswith(b"\xff\xd8\xff"):
        return MediaType.JPEG
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return MediaType.PNG
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return MediaType.WEBP
    if head.startswith(b"%PDF-"):
        return MediaType.PDF
    if head[4:8] == b"ftyp" and _is_heic(head):
        return MediaType.HEIC
    return None


def _is_heic(head: bytes) -> bool:
    end = min(int.from_bytes(head[:4], "big"), SNIFF_BYTES, len(head))
    brands = {head[8:12], *(head[at : at + 4] for at in range(16, end - 3, 4))}
    return bool(brands & HEIC_BRANDS) and not brands & OTHER_BRANDS
