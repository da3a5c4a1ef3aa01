"""Celery's settings, with the reason where a default would lose or delay work."""

from __future__ import annotations

from django.conf import settings

HARD_LIMIT_S = 960
SOFT_LIMIT_S = 900
# A task that outlives the visibility timeout is delivered again and again.
VISIBILITY_S = 3 * HARD_LIMIT_S
SWEEP_EVERY_S = 2.0

broker_url = settings.BROKER_URL
broker_connection_retry_on_startup = True
broker_connection_max_retries = None
broker_transport_options = {
    "visibility_timeout": VISIBILITY_S,
    # Kombu's defaults look for unacknowledged messages every hundred seconds only.
    "unacked_restore_interval": 1,
    "unacked_restore_throttle": 1,
    "socket_timeout": 10,
    "socket_connect_timeout": 10,
    "global_keyprefix": "roofreg:",
}

task_acks_late = True
task_reject_on_worker_lost = True
task_ignore_result = True
task_store_errors_even_if_ignored = False
task_soft_time_limit = SOFT_LIMIT_S
task_time_limit = HARD_LIMIT_S
task_serializer = "json"
accept_content = ["json"]
result_backend = None
task_default_queue = "default"

worker_prefetch_multiplier = 1
worker_max_tasks_per_child = 200
worker_soft_shutdown_timeout = 30
worker_hijack_root_logger = False
worker_cancel_long_running_tasks_on_connection_loss = True

timezone = "UTC"
# Dates in the future are rows; beat only asks for a look, and an unread look expires.
# Looks have queues of their own, which workers read in turn with the bells': behind a
# thousand bells a look would expire unread, and what a dead worker held would wait.
beat_schedule = {
    f"sweep {lane.lower()}": {
        "task": "jobs.tasks.sweep_later_work",
        "schedule": SWEEP_EVERY_S,
        "kwargs": {"lane": lane},
        "options": {"queue": f"{lane.lower()}-sweep", "expires": SWEEP_EVERY_S},
    }
    for lane in ("DEFAULT", "NOTICES", "WEBHOOKS", "HEAVY")
}
