"""What one sync of a whole installation costs: 90 readings and 20 photos.

Run ``python -m tests.bench.field_sync``. Another database to measure, an empty one, is
named by ``ROOFREG_BENCH_DATABASE_URL``; else it is a fresh SQLite file. The ceiling:
each operation needs one commit and each photo one more and a file on disk, so no sync
is faster than those alone, measured in the same run.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path
from time import perf_counter

import django

from fleet.wall import is_the_registers_own_process

READINGS, SHOTS, PHOTOS = 90, 3, 20


def main() -> int:
    """Prepare a database and a folder, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    short = os.environ.get("ROOFREG_BENCH_SHORT") == "1"
    parser.add_argument("--photo-kb", type=int, default=200 if short else 2000)
    photo_bytes = parser.parse_args().photo_kb * 1000
    with tempfile.TemporaryDirectory() as folder:
        os.environ.setdefault("ROOFREG_SECRET_KEY", "only-for-the-bench")
        os.environ["ROOFREG_DATA_DIR"] = folder
        os.environ["ROOFREG_ALLOWED_HOSTS"] = "testserver"
        # Never the records of this machine: the bench leaves rows behind.
        os.environ["ROOFREG_DATABASE_URL"] = os.environ.get(
            "ROOFREG_BENCH_DATABASE_URL", f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        )
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
        django.setup()
        is_the_registers_own_process()
        measure(photo_bytes)
    return 0


def measure(photo_bytes: int) -> None:
    """Sync once, counting; then time what the disk alone takes."""
    from django.core.management import call_command

    from tests.builders import make_promised_roof
    from tests.field.phone import make_phone

    call_command("migrate", verbosity=0)
    queries = statements_of_a_sync()
    phone, roof = make_phone(), make_promised_roof()
    ops, photos = captured(roof, photo_bytes)
    began_s = perf_counter()
    answers = [phone.batch(ops)]
    records_ms = (perf_counter() - began_s) * 1000
    began_s = perf_counter()
    answers += [phone.put_photo(content, photo) for photo, content in photos]
    photos_ms = (perf_counter() - began_s) * 1000
    check(answers, roof)
    up = sum(len(each["text"]) for each in ops) + photo_bytes * PHOTOS
    down = sum(len(answer.content) for answer in answers)
    floor_ms = bare_ms(len(ops), [content for _, content in photos])
    told = [
        f"{READINGS} readings, {PHOTOS} photos of {photo_bytes / 1e6:.1f} MB",
        f"requests {len(answers)}, bytes up {up:,}, bytes down {down:,}",
        f"{len(ops)} operations in one batch: {records_ms:.0f} ms",
        f"{queries} statements, {queries / len(ops):.0f} an operation",
        f"{PHOTOS} photos, each with the record that waited for it: {photos_ms:.0f} ms",
        f"server {records_ms + photos_ms:.0f} ms",
        f"the same commits and files alone {floor_ms:.0f} ms",
    ]
    sys.stdout.write("\n".join(told) + "\n")


def statements_of_a_sync() -> int:
    """Return how many statements the records of such a sync take, on another roof."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from tests.builders import make_promised_roof
    from tests.field.phone import make_phone

    phone, roof = make_phone(), make_promised_roof()
    ops, _ = captured(roof, 1000)
    with CaptureQueriesContext(connection) as context:
        phone.batch(ops)
    return len(context)


def captured(roof, photo_bytes):
    """Return the operations of an installation, and its photos."""
    import hashlib
    import json
    from uuid import uuid4

    from tests.field.phone import op, picture, reading, uuid_of

    visit = op("visit", roof, body={"visit_kind": "INSTALLATION"})
    spots = [
        op(
            "film",
            roof,
            visit=uuid_of(visit),
            body={
                "readings": [
                    reading(spot_no=spot + 1, shot_no=shot + 1) for shot in range(SHOTS)
                ]
            },
        )
        for spot in range(READINGS // SHOTS)
    ]
    photos, told = [], []
    for _ in range(PHOTOS):
        content = picture() + os.urandom(photo_bytes - len(picture()))
        body = {"sha256": hashlib.sha256(content).hexdigest()}
        record = op("photo", roof, visit=uuid_of(visit), body=body)
        told.append(record)
        photos.append((record["body"]["photo"], content))
    ops = [
        {"op_id": str(uuid4()), "text": json.dumps(each)}
        for each in (visit, *spots, *told)
    ]
    return ops, photos


def check(answers, roof) -> None:
    """Fail unless everything that was captured is on record, once."""
    from fleet.models import Exhibit, FieldOperation, FilmReading

    statuses = {answer.status_code for answer in answers}
    applied = FieldOperation.objects.filter(state="APPLIED", roof=roof).count()
    readings = FilmReading.objects.filter(roof=roof, scope__startswith="device:")
    exhibits = Exhibit.objects.filter(roof=roof)
    found = (statuses, applied, readings.count(), exhibits.count())
    wanted = ({200, 201}, 1 + READINGS // SHOTS + PHOTOS, READINGS, PHOTOS)
    if found != wanted:
        raise SystemExit(f"the sync is not whole: {found}, not {wanted}")


def bare_ms(commits: int, contents: list[bytes]) -> float:
    """Return what the commits and the kept files alone take. [ms]"""
    from django.utils import timezone

    from fleet import store
    from fleet.models import PairingAttempt

    began_s = perf_counter()
    for number in range(commits + len(contents)):
        PairingAttempt.objects.create(address=str(number), attempted_at=timezone.now())
    for content in contents:
        # One byte more: the same bytes are not written twice.
        store.keep(content + b"!")
    return (perf_counter() - began_s) * 1000


if __name__ == "__main__":
    sys.exit(main())
