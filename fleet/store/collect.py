"""Collect bytes that nobody names: uploads that were refused after they were kept.

In two steps, a day apart, so that no race with an upload loses a byte. First old bytes
that no row names are set aside. A day later they go for good; or back to their place,
when a row names them by then: an upload of the same bytes was on its way.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path

from django.conf import settings

from fleet.store.errors import FileGone
from fleet.store.place import DIGEST, place

# No upload is on its way for so long.
SAFE_AGE_S = 7 * 24 * 3600.0
ASIDE_S = 24 * 3600.0
BATCH = 200

Named = Callable[[list[str]], set[str]]


@dataclass(slots=True, kw_only=True)
class Collected:
    """What one collection did."""

    set_aside: int = 0
    removed: int = 0
    put_back: int = 0


def collect_unnamed(
    named: Named, *, safe_age_s: float = SAFE_AGE_S, aside_s: float = ASIDE_S
) -> Collected:
    """Set aside old bytes that nobody names, and let go of those set aside before.

    Parameters:
        named: returns which of some hashes a row names, asked anew each time.
        safe_age_s: younger bytes may belong to an upload whose row is still to come.
        aside_s: how long bytes stay aside.
    """
    done = Collected()
    now_s = time.time()
    folder = settings.DATA_DIR / "files" / "aside"
    folder.mkdir(parents=True, exist_ok=True)
    for path in sorted(folder.iterdir()):
        if not DIGEST.fullmatch(path.name):
            continue
        if named([path.name]):
            place().put(path, path.name)
            done.put_back += 1
        elif path.stat().st_mtime < now_s - aside_s:
            path.unlink()
            done.removed += 1
    for digests in _batches(place().written_before(now_s - safe_age_s)):
        for digest in sorted(set(digests) - named(digests)):
            _set_aside(digest, folder / digest, now_s - safe_age_s, done)
    return done


def _set_aside(digest: str, target: Path, before_s: float, done: Collected) -> None:
    try:
        written_s = place().take_out(digest, target)
    except FileGone:
        return
    if written_s >= before_s:
        # Written anew since it was listed: its row is on its way.
        place().put(target, digest)
        return
    os.utime(target)
    done.set_aside += 1


def _batches(digests: Iterable[str]) -> Iterator[list[str]]:
    remaining = iter(digests)
    while batch := list(islice(remaining, BATCH)):
        yield batch
