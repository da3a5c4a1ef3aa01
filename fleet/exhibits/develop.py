"""Make a picture's small upright copies: a program, run under limits of its own.

``python -m fleet.exhibits.develop SOURCE MEDIA_TYPE FOLDER`` reads a picture, writes
``1600.jpg`` and ``320.jpg`` and prints one line of JSON. The one module here that
decodes pixels; nothing else in the project does, and it never runs in a process that
holds anything worth taking.
"""

from __future__ import annotations

import json
import resource
import sys
import warnings
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError

from fleet.exhibits.likeness import EDGE_PX, likeness_of
from fleet.exhibits.limits import (
    DECODER_CPU_S,
    DECODER_MEMORY_BYTES,
    DECODER_OUTPUT_BYTES,
    EDGES_PX,
    MAX_PIXELS,
    SCREEN_EDGE_PX,
)
from fleet.exhibits.sniff import MediaType

try:
    import pi_heif
except ImportError:  # the optional extra
    pi_heif = None

FORMATS = {
    MediaType.JPEG: "JPEG",
    MediaType.PNG: "PNG",
    MediaType.WEBP: "WEBP",
    MediaType.HEIC: "HEIF",
}
QUALITY = 85
UNREADABLE, NO_DECODER, DEVELOPED = "UNREADABLE", "NO_DECODER", "DEVELOPED"
# What Pillow and its libraries raise for bytes they cannot read.
UNREADABLE_ERRORS = (
    Image.DecompressionBombError,
    Image.DecompressionBombWarning,
    UnidentifiedImageError,
    MemoryError,
    OSError,
    EOFError,
    SyntaxError,
    ValueError,
    TypeError,
    KeyError,
    IndexError,
    ArithmeticError,
    RuntimeError,
)


def develop(source: Path, media_type: MediaType, folder: Path) -> dict[str, object]:
    """Write the copies of one picture and return what it turned out to be."""
    if media_type is MediaType.HEIC:
        if pi_heif is None:
            return {"outcome": NO_DECODER}
        pi_heif.register_heif_opener(thumbnails=False)
    try:
        with Image.open(source, formats=[FORMATS[media_type]]) as image:
            if image.width * image.height > MAX_PIXELS:
                return {"outcome": UNREADABLE, "reason": "too many pixels"}
            screen = _upright(image)
    except UNREADABLE_ERRORS as error:
        return {"outcome": UNREADABLE, "reason": f"{type(error).__name__}: {error}"}
    copies = []
    for edge_px in EDGES_PX:
        copy = screen.copy()
        copy.thumbnail((edge_px, edge_px), Image.Resampling.LANCZOS)
        copy.save(folder / f"{edge_px}.jpg", "JPEG", quality=QUALITY, optimize=True)
        copies.append({"edge_px": edge_px, "width": copy.width, "height": copy.height})
    small = screen.convert("L").resize((EDGE_PX, EDGE_PX), Image.Resampling.BOX)
    grey = small.tobytes()
    rows = [grey[at : at + EDGE_PX] for at in range(0, len(grey), EDGE_PX)]
    return {"outcome": DEVELOPED, "likeness": likeness_of(rows), "copies": copies}


def _upright(image: Image.Image) -> Image.Image:
    """Return a fresh picture of at most 1600 px, turned upright, nothing attached."""
    # JPEG can skip most of its pixels while decoding.
    image.draft("RGB", (SCREEN_EDGE_PX, SCREEN_EDGE_PX))
    profile = image.info.get("icc_profile")
    turned = image.getexif().get(0x0112, 1)
    plain = _eight_bits(image)
    plain.thumbnail((SCREEN_EDGE_PX, SCREEN_EDGE_PX), Image.Resampling.LANCZOS)
    plain = _in_srgb(_on_white(plain), profile)
    # A clean canvas: comments, profiles and tags of the source stay behind.
    clean = Image.new("RGB", plain.size)
    clean.paste(plain)
    clean.getexif()[0x0112] = turned
    upright = ImageOps.exif_transpose(clean)
    fresh = Image.new("RGB", upright.size)
    fresh.paste(upright)
    return fresh


def _eight_bits(image: Image.Image) -> Image.Image:
    if image.mode.startswith("I"):
        return image.convert("I").point(lambda value: value / 256).convert("L")
    if image.mode in ("P", "PA"):
        return image.convert("RGBA")
    return image


def _on_white(image: Image.Image) -> Image.Image:
    if image.mode in ("RGBA", "LA", "La", "RGBa"):
        with_alpha = image.convert("RGBA")
        paper = Image.new("RGB", image.size, "white")
        paper.paste(with_alpha, mask=with_alpha.getchannel("A"))
        return paper
    return image.convert("RGB")


def _in_srgb(image: Image.Image, profile: object) -> Image.Image:
    """Return the picture in sRGB, or as it is when its colour profile is unusable."""
    if not isinstance(profile, bytes) or not profile:
        return image
    try:
        source = ImageCms.ImageCmsProfile(BytesIO(profile))
        target = ImageCms.createProfile("sRGB")
        turned = ImageCms.profileToProfile(image, source, target, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return image
    return turned or image


def limit_this_process() -> None:
    """Take memory, time, output and crash dumps away from this process for good."""
    for kind, limit in (
        (resource.RLIMIT_AS, DECODER_MEMORY_BYTES),
        (resource.RLIMIT_CPU, DECODER_CPU_S),
        (resource.RLIMIT_FSIZE, DECODER_OUTPUT_BYTES),
        (resource.RLIMIT_NOFILE, 64),
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(kind, (limit, limit))


def peak_bytes() -> int:
    """Return the most memory that this program held, or 0 where nobody counts it.

    The usage that the operating system reports for a process would not do: it begins
    with what its parent held.
    """
    status = Path("/proc/self/status")
    lines = status.read_text().splitlines() if status.exists() else []
    held = (line.split()[1] for line in lines if line.startswith("VmHWM:"))
    return int(next(held, "0")) * 1024


def main(arguments: list[str]) -> None:
    """Develop the picture that the command line names."""
    limit_this_process()
    Image.MAX_IMAGE_PIXELS = MAX_PIXELS
    warnings.simplefilter("ignore")
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    source, media_type, folder = arguments
    result = develop(Path(source), MediaType(media_type), Path(folder))
    result["peak_bytes"] = peak_bytes()
    print(json.dumps(result))  # noqa: T201 - the answer to the parent process


if __name__ == "__main__":
    main(sys.argv[1:])
