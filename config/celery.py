"""The Celery application: it carries bells, the rows carry the work."""

from __future__ import annotations

import logging
import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("roof_register")
# By name, so that Django's settings are read when Celery is first used, not before.
app.config_from_object("config.celeryconfig")
app.autodiscover_tasks(["jobs"])
app.set_default()

# Sweeps come three in two seconds; a line for each would bury the others.
for _name in ("celery.app.trace", "celery.worker.strategy"):
    logging.getLogger(_name).setLevel(logging.WARNING)
