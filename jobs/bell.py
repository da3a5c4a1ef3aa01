"""The bell: a message that says *look*, and may be lost without loss."""

from __future__ import annotations

import logging
import time

from celery import current_app
from django.conf import settings
from kombu.exceptions import KombuError
from redis.exceptions import RedisError

from jobs.models import Lane

logger = logging.getLogger(__name__)

RUN_TASK = "jobs.tasks.run_later_work"
# A broker that is away must not make people wait: one short try, then a pause.
BELL_OPTIONS = {
    "socket_timeout": 1.0,
    "socket_connect_timeout": 1.0,
    "retry_on_timeout": False,
    "max_retries": 0,
}
PAUSE_S = 5.0

_quiet_until_s = 0.0


def ring(*, run_id: int, lane: str) -> bool:
    """Tell the workers about a row; return whether the broker took the message.

    Only after commit, and never an error: the sweep finds what no bell announced.
    """
    global _quiet_until_s
    if not settings.BROKER_URL or time.monotonic() < _quiet_until_s:
        return False
    try:
        with current_app.connection_for_write(
            settings.BROKER_URL, transport_options=BELL_OPTIONS, connect_timeout=1
        ) as connection:
            current_app.send_task(
                RUN_TASK,
                kwargs={"run_id": run_id},
                queue=queue_of(lane),
                connection=connection,
                retry=False,
                ignore_result=True,
            )
    except (KombuError, RedisError, OSError) as error:
        _quiet_until_s = time.monotonic() + PAUSE_S
        logger.warning("No bell for run %s: %s. The sweep will find it.", run_id, error)
        return False
    return True


def queue_of(lane: str) -> str:
    """Return the Celery queue of a lane."""
    return Lane(lane).value.lower()
