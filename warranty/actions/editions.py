"""Editions of the promise: drafted, changed while they are drafts, published."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import F

from fleet.actions.errors import InvalidValue
from warranty.actions.errors import (
    DraftMovedOn,
    EditionKnown,
    EditionPublished,
    LawNotMet,
)
from warranty.models import Edition
from warranty.selectors.editions import edition_checks

# What a draft's author writes; the rest is the register's own.
AUTHORED = frozenset(
    field.name
    for field in Edition._meta.concrete_fields
    if field.name not in {"id", "uuid", "version", "published_at"}
)


def draft_edition(*, edition: Edition) -> Edition:
    """Keep a draft of an edition. What the law would not allow is told, not refused.

    Raises:
        InvalidValue: a value that no edition can have.
        EditionKnown: its code is taken.
    """
    edition.published_at = None
    _refuse_impossible(edition)
    try:
        with transaction.atomic():
            edition.save(force_insert=True)
    except IntegrityError:
        raise EditionKnown(
            f"Edition {edition.code} is on record already. Give this one another code.",
            field="code",
        ) from None
    return edition


def change_draft(
    *, edition: Edition, version: int, changes: Mapping[str, object]
) -> Edition:
    """Change a draft, from the version that was read.

    Raises:
        InvalidValue: a value that no edition can have.
        EditionKnown: its new code is taken.
        EditionPublished: it is no draft any more.
        DraftMovedOn: somebody else changed it first.
    """
    changed = Edition.objects.get(pk=edition.pk)
    _refuse_published(changed)
    for name in AUTHORED & changes.keys():
        setattr(changed, name, changes[name])
    _refuse_impossible(changed)
    values = {name: getattr(changed, name) for name in AUTHORED & changes.keys()}
    drafts = Edition.objects.filter(
        pk=edition.pk, version=version, published_at__isnull=True
    )
    try:
        with transaction.atomic():
            moved = drafts.update(version=F("version") + 1, **values)
    except IntegrityError:
        raise EditionKnown(
            f"Edition {changed.code} is on record already. Give this one another code.",
            field="code",
        ) from None
    if not moved:
        raise _moved_on()
    changed.refresh_from_db()
    return changed


def publish_edition(*, edition: Edition, version: int, now: datetime) -> Edition:
    """Publish a draft; from then on nothing of it ever changes.

    Raises:
        EditionPublished: it is published already.
        LawNotMet: the checklist finds errors, all of them listed.
        DraftMovedOn: somebody else changed it since it was read.
    """
    draft = Edition.objects.get(pk=edition.pk)
    _refuse_published(draft)
    if draft.version != version:
        raise _moved_on()
    errors = [result for result in edition_checks(draft) if result.is_error]
    if errors:
        raise LawNotMet(
            f"Edition {draft.code} cannot be published yet: "
            f"{len(errors)} of the checks found an error. Correct them first.",
            errors=[
                {
                    "pointer": f"#/{result.fault.field}" if result.fault.field else "#",
                    "detail": f"{result.fault.says} ({result.rule.citation})",
                    "code": result.rule.code,
                }
                for result in errors
                if result.fault is not None
            ],
        )
    same = Edition.objects.filter(
        pk=draft.pk, version=version, published_at__isnull=True
    )
    # Compared and set in one statement: what was checked is what is published.
    if not same.update(published_at=now, version=F("version") + 1):
        raise _moved_on()
    draft.refresh_from_db()
    return draft


def _refuse_published(edition: Edition) -> None:
    if edition.published_at is not None:
        raise EditionPublished(
            f"Edition {edition.code} is published. Draft a new one under another code."
        )


def _moved_on() -> DraftMovedOn:
    return DraftMovedOn(
        "Somebody else changed this draft meanwhile. Load it again, then decide."
    )


def _refuse_impossible(edition: Edition) -> None:
    """Refuse what the database would not take, by the field's name."""
    try:
        edition.clean_fields(exclude={"uuid"})
        edition.validate_constraints()
    except ValidationError as error:
        field, says = _first(error)
        raise InvalidValue(field, says) from None


def _first(error: ValidationError) -> tuple[str, str]:
    for field, messages in error.message_dict.items():
        if field != "__all__":
            return field, messages[0]
        said = messages[0]
        for name, (about, sentence) in _SENTENCES.items():
            if name in said:
                return about, sentence
    return "", error.messages[0]


_SENTENCES = {
    "edition_windows_apart": (
        "window_days",
        "Window and grace together reach the interval. Shorten them or lengthen it.",
    ),
    "edition_transfer_fields_together": (
        "is_transferable",
        "An edition that passes on to nobody has no notice days and no inspection.",
    ),
    "edition_interval_positive": (
        "interval_months",
        "The interval is at least one month.",
    ),
    "edition_term_positive": ("term_months", "The term is at least one month."),
}
