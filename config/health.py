"""Is the service alive, and is it ready for work."""

from __future__ import annotations

import logging
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import Error as DatabaseError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, JsonResponse
from django.urls import path
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from fleet.wall import asks_nobody, whole
from jobs.selectors import later_work_summary

logger = logging.getLogger(__name__)

# A due row that nobody has started for so long means that the runner is stuck.
OLDEST_WAITING_S = 900.0


@asks_nobody
@require_safe
@never_cache
def livez(request: HttpRequest) -> JsonResponse:
    """Answer that this process answers."""
    return JsonResponse({"status": "ok"})


@asks_nobody
@require_safe
@never_cache
def readyz(request: HttpRequest) -> JsonResponse:
    """Answer 200 when records can be taken and later work gets done, else 503."""
    problems: dict[str, str] = {}
    facts: dict[str, object] = {}
    try:
        with whole():  # counts of later work, whoever it is for
            _check_database(problems, facts)
    except DatabaseError:
        logger.exception("The database does not answer.")
        problems["database"] = "does not answer"
    if not _is_writable(settings.DATA_DIR):
        problems["data_folder"] = "cannot be written"
    body = {
        "status": "unready" if problems else "ok",
        "problems": problems,
        "later_work": facts,
    }
    return JsonResponse(body, status=503 if problems else 200)


def _check_database(problems: dict[str, str], facts: dict[str, object]) -> None:
    executor = MigrationExecutor(connection)
    if executor.migration_plan(executor.loader.graph.leaf_nodes()):
        problems["migrations"] = "not all applied"
        return
    later = later_work_summary(timezone.now())
    facts.update(
        waiting=later.waiting,
        running=later.running,
        set_aside=later.set_aside,
        oldest_waiting_s=round(later.oldest_waiting_s, 1),
        beat_age_s=None if later.beat_age_s is None else round(later.beat_age_s, 1),
    )
    if not later.is_runner_alive:
        problems["runner"] = "not seen for a minute"
    if later.oldest_waiting_s > OLDEST_WAITING_S:
        problems["later_work"] = "waits for more than a quarter of an hour"


def _is_writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder) as probe:
            probe.write(b"ok")
    except OSError:
        return False
    return True


urlpatterns = [
    path("livez", livez, name="livez"),
    path("readyz", readyz, name="readyz"),
]
