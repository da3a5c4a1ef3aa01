"""What forty photos of 12 megapixels cost a claim packet, in time and in memory.

Run ``python -m tests.bench.packet_photos [--photos N]``. First the small copies are
made, as the runner makes them, in processes of their own. Then, in a fresh process
each and the best of three, the thumbnails alone are drawn on bare pages, the ceiling,
and the packet is rendered without and with the photos. It fails when the peak reaches
300 MB. Both ratios of time are printed: to making the copies, and to drawing them.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from time import perf_counter

import numpy as np
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from fleet.exhibits.limits import THUMBNAIL_EDGE_PX
from tests.documents.packet_facts import make_packet_facts, make_shown_exhibits
from warranty.documents.facts import ExhibitFacts, PictureFacts
from warranty.documents.packet import claim_packet_pdf

WIDE_PX, HIGH_PX = 4000, 3000
MOST_MB = 300
TRIES = 3
KB_PER_MB = 1024


def main() -> int:
    """Make the photos, develop them, measure, print; 1 when memory runs over."""
    parser = argparse.ArgumentParser(description=__doc__)
    short = os.environ.get("ROOFREG_BENCH_SHORT") == "1"
    parser.add_argument("--photos", type=int, default=8 if short else 40)
    parser.add_argument("--part", default="")
    parser.add_argument("--folder", default="")
    options = parser.parse_args()
    if options.part:
        _measure(options.part, Path(options.folder))
        return 0
    with tempfile.TemporaryDirectory() as name:
        return _report(options.photos, Path(name))


def _report(photos: int, folder: Path) -> int:
    made = [_develop(folder, order) for order in range(photos)]
    developed_s = sum(seconds for seconds, _ in made)
    peak_b = max(peak for _, peak in made)
    alone = _part("thumbnails", folder)
    bare = _part("bare", folder)
    packet = _part("packet", folder)
    added_s = packet["seconds"] - bare["seconds"]
    times = added_s / alone["seconds"]
    sys.stdout.write(
        f"{photos} photos of {WIDE_PX * HIGH_PX / 1e6:.0f} megapixels\n"
        f"small copies made:  {developed_s:8.2f} s,"
        f" {peak_b / 1e6:6.0f} MB at the peak of a decoder\n"
        f"thumbnails alone:   {alone['seconds']:8.3f} s,"
        f" {alone['peak_mb']:6.0f} MB at the peak (the ceiling)\n"
        f"packet, no photos:  {bare['seconds']:8.2f} s,"
        f" {bare['peak_mb']:6.0f} MB\n"
        f"packet with photos: {packet['seconds']:8.2f} s,"
        f" {packet['peak_mb']:6.0f} MB (asked: under {MOST_MB} MB)\n"
        f"the photos' part:   {added_s:8.3f} s = {times:.2f} times the thumbnails drawn"
        f" alone\nthe whole packet:   {packet['seconds'] / developed_s:8.2f} times the"
        " making of the small copies\n"
    )
    return int(packet["peak_mb"] >= MOST_MB)


def _develop(folder: Path, order: int) -> tuple[float, int]:
    """Write one photo, have its copies made; return the time and the peak in bytes."""
    draw = np.random.default_rng(order)
    noise = draw.integers(0, 40, (HIGH_PX, WIDE_PX, 3), dtype=np.uint8)
    slope = np.linspace(90, 200, WIDE_PX, dtype=np.uint8)[None, :, None]
    picture = Image.fromarray(noise + slope)
    source, target = folder / f"{order}.src", folder / str(order)
    picture.save(source, "JPEG", quality=90)
    target.mkdir()
    command = [sys.executable, "-m", "fleet.exhibits.develop"]
    began_s = perf_counter()
    done = subprocess.run(  # noqa: S603 - our own program, on a file we made
        [*command, str(source), "image/jpeg", str(target)],
        capture_output=True,
        check=True,
    )
    seconds = perf_counter() - began_s
    source.unlink()
    return seconds, int(json.loads(done.stdout)["peak_bytes"])


def _part(name: str, folder: Path) -> dict[str, float]:
    tries = [_once(name, folder) for _ in range(TRIES)]
    return {
        "seconds": min(each["seconds"] for each in tries),
        "peak_mb": max(each["peak_mb"] for each in tries),
    }


def _once(name: str, folder: Path) -> dict[str, float]:
    command = [sys.executable, "-m", "tests.bench.packet_photos"]
    done = subprocess.run(  # noqa: S603 - this very script
        [*command, "--part", name, "--folder", str(folder)],
        capture_output=True,
        check=True,
    )
    found: dict[str, float] = json.loads(done.stdout)
    return found


def _measure(part: str, folder: Path) -> None:
    exhibits = make_shown_exhibits(0)
    copies = sorted(folder.glob(f"*/{THUMBNAIL_EDGE_PX}.jpg"))
    began_s = perf_counter()
    if part == "thumbnails":
        _draw_alone(copies)
    else:
        if part == "packet":
            exhibits = _exhibits(copies)
        claim_packet_pdf(make_packet_facts(exhibits=exhibits))
    seconds = perf_counter() - began_s
    sys.stdout.write(json.dumps({"seconds": seconds, "peak_mb": _peak_mb()}))


def _peak_mb() -> float:
    """Return this process's own peak; what getrusage tells begins with its parent's."""
    status = Path("/proc/self/status").read_text("ascii")
    line = next(each for each in status.splitlines() if each.startswith("VmHWM"))
    return int(line.split()[1]) / KB_PER_MB


def _draw_alone(copies: list[Path]) -> None:
    canvas = Canvas(BytesIO(), invariant=1)
    for copy in copies:
        canvas.drawImage(ImageReader(BytesIO(copy.read_bytes())), 0, 0)
        canvas.showPage()
    canvas.save()


def _exhibits(copies: list[Path]) -> tuple[ExhibitFacts, ...]:
    return tuple(
        replace(exhibit, picture=_picture(copy))
        for exhibit, copy in zip(make_shown_exhibits(len(copies)), copies, strict=True)
    )


def _picture(copy: Path) -> PictureFacts:
    with Image.open(copy) as opened:
        width_px, height_px = opened.size
    return PictureFacts(
        content=copy.read_bytes(), width_px=width_px, height_px=height_px
    )


if __name__ == "__main__":
    sys.exit(main())
