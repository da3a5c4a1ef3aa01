"""The Celery application: it carries bells, the rows carry the work."""

from __future__ import annotations

import logging
import os

from celery import Celery, Task

from fleet.wall import whole

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")


class OwnWork(Task):
    """A task of the register itself: it sees everything (``fleet.wall``)."""

    abstract = True

    def __call__(self, *args: object, **kwargs: object) -> object:
        """Do the task's work."""
        with whole():
            return super().__call__(*args, **kwargs)


app = Celery("roof_register", task_cls=OwnWork)
# By name, so that Django's settings are read when Celery is first used, not before.
app.config_from_object("config.celeryconfig")
app.autodiscover_tasks(["jobs"])
app.set_default()

# Sweeps come three in two seconds; a line for each would bury the others.
for _name in ("celery.app.trace", "celery.worker.strategy"):
    logging.getLogger(_name).setLevel(logging.WARNING)
