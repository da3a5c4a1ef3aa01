"""``manage.py prepare_store``: make the folder or bucket that keeps files."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from fleet.store.place import place


class Command(BaseCommand):
    help = "Make the folder or bucket that keeps files, where it is not there yet."

    def handle(self, *args: Any, **options: Any) -> None:
        place().prepare()
