"""Run every bench script and print its figures: ``python -m tests.bench.run``.

A script is a module of this folder with a ``main``; it prints each figure beside the
ceiling measured in the same run. ``--short`` sets ``ROOFREG_BENCH_SHORT=1``, and a
script that sees it takes its smallest honest size.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import time
from pathlib import Path

FOLDER = Path(__file__).resolve().parent
NOT_SCRIPTS = frozenset({"__init__", "run"})
# Scripts that take their size as an argument.
SHORT_ARGUMENTS = {"assess": ("--rows", "100000")}


def scripts() -> list[str]:
    """Return the names of the bench scripts, in order."""
    return sorted(
        path.stem
        for path in FOLDER.glob("*.py")
        if path.stem not in NOT_SCRIPTS and "def main(" in path.read_text()
    )


def run(name: str, *, short: bool) -> bool:
    """Run one script as a process of its own; return whether it went well."""
    arguments = SHORT_ARGUMENTS.get(name, ()) if short else ()
    environment = {**os.environ, "ROOFREG_BENCH_SHORT": "1"} if short else None
    sys.stdout.write(f"\n== {name}\n")
    sys.stdout.flush()
    began_s = time.perf_counter()
    code = subprocess.call(  # noqa: S603 - our own scripts
        [sys.executable, "-m", f"tests.bench.{name}", *arguments],
        cwd=FOLDER.parent.parent,
        env=environment,
    )
    sys.stdout.write(f"-- {name}: {time.perf_counter() - began_s:.1f} s\n")
    return code == 0


def main() -> int:
    """Run the scripts named, or all of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", default=scripts())
    parser.add_argument("--short", action="store_true")
    options = parser.parse_args()
    failed = [name for name in options.names if not run(name, short=options.short)]
    if failed:
        sys.stdout.write(f"\nfailed: {', '.join(failed)}\n")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
