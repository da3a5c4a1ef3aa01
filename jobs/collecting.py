"""The daily look for bytes that no row names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict

from django.db.models import Q, TextField
from django.db.models.functions import Cast

from fleet import store
from fleet.models import Exhibit, FieldPhoto, StoredFile
from jobs.models import Run
from jobs.work import Effect, Work
from warranty.models import Document

KIND = "collect_files"


def collect_files(work: Work) -> Effect:
    """Let go of bytes that no row names: refused uploads. Safe to run again."""
    done = store.collect_unnamed(names_of)

    def effect() -> Mapping[str, object]:
        return asdict(done)

    return effect


def names_of(digests: list[str]) -> set[str]:
    """Return which of these bytes any row names, a run's own files included."""
    named: set[str] = set()
    for rows in (StoredFile, Exhibit, FieldPhoto, Document):
        found = rows._default_manager.filter(sha256__in=digests)
        named.update(found.values_list("sha256", flat=True))
    runs = Run.objects.annotate(
        asked=Cast("payload", TextField()), told=Cast("result", TextField())
    )
    for digest in set(digests) - named:
        if runs.filter(Q(asked__contains=digest) | Q(told__contains=digest)).exists():
            named.add(digest)
    return named
