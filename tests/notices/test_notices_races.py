"""Three sweeps at the same moment: nobody is told twice, nobody is forgotten."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from threading import Barrier

import pytest
from django.db import IntegrityError, connection, transaction

from jobs.models import Message, Notice, Run
from jobs.notices.sweep import look
from tests.notices.bulk import make_roofs

pytestmark = pytest.mark.slow

SWEEPS = 3
DUE = 40
# A Wednesday; thirty days on is a Friday.
NOW = datetime(2026, 6, 3, 16, 0, tzinfo=UTC)


def test_three_sweeps_tell_everybody_once(shared_database):
    make_roofs(DUE + 20, due=DUE, now=NOW)
    barrier = Barrier(SWEEPS)

    def sweep(_number: int) -> int:
        try:
            barrier.wait(timeout=30)
            told = 0
            while True:
                looked, noted = look(now=NOW, limit=7)
                told += noted
                if not looked:
                    return told
        finally:
            connection.close()

    with ThreadPoolExecutor(SWEEPS) as pool:
        told = list(pool.map(sweep, range(SWEEPS)))
    # What one sweep skipped because another held it is left to nobody.
    rest, _ = look(now=NOW)

    assert (sum(told), rest) == (DUE, 0)
    assert Notice.objects.count() == DUE
    assert Message.objects.count() == DUE
    assert Run.objects.filter(kind="send_message").count() == DUE
    owners = Message.objects.values_list("owner_id", flat=True)
    assert len(set(owners)) == DUE


def test_the_database_itself_refuses_a_second_notice(db):
    make_roofs(1, due=1, now=NOW)
    look(now=NOW)
    notice = Notice.objects.get()
    notice.pk, notice._state.adding = None, True
    notice.uuid = "00000000-0000-4000-8000-000000000001"

    with (
        pytest.raises(IntegrityError, match=r"notice_once_per|UNIQUE constraint"),
        transaction.atomic(),
    ):
        notice.save()
