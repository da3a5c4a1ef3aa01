"""Systems, and what an owner is called and how they are reached."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F

from fleet.actions.errors import InvalidValue, OwnerChanged, SystemKnown
from fleet.models import Owner, System, SystemCoat, SystemSubstrate


def add_system(
    *,
    code: str,
    title: str,
    substrates: Sequence[str],
    coats: Sequence[Mapping[str, object]],
    weather: Mapping[str, object],
    uuid: UUID | None = None,
) -> System:
    """Add a product build: coats in the order of application, substrates it may have.

    Raises:
        SystemKnown: the code is taken; another build has another code.
        InvalidValue: no coat, a coat twice, or limits the wrong way round.
    """
    roles = [str(coat["role"]) for coat in coats]
    if not roles or len(set(roles)) != len(roles):
        raise InvalidValue("coats", "A system has at least one coat, each only once.")
    for limits in (weather, *coats):
        _refuse_reversed(limits)
    if System.objects.filter(code=code).exists():
        raise SystemKnown(
            f"System {code} is on record. Give another build another code.", code=code
        )
    with transaction.atomic():
        system = System.objects.create(
            uuid=uuid or uuid4(), code=code, title=title, **weather
        )
        SystemSubstrate.objects.bulk_create(
            SystemSubstrate(system=system, substrate=word)
            for word in dict.fromkeys(substrates)
        )
        SystemCoat.objects.bulk_create(
            SystemCoat(system=system, position=position, **coat)
            for position, coat in enumerate(coats, start=1)
        )
    return system


def _refuse_reversed(limits: Mapping[str, object]) -> None:
    for low, high in (
        ("air_min_c", "air_max_c"),
        ("dry_min_um", "dry_max_um"),
        ("recoat_min_hours", "recoat_max_hours"),
    ):
        least, most = limits.get(low), limits.get(high)
        if least is not None and most is not None and least > most:  # type: ignore[operator]  # both decimals
            raise InvalidValue(high, f"{high} {most} lies below {low} {least}.")


def change_owner(*, owner: Owner, version: int, changes: Mapping[str, object]) -> Owner:
    """Change what an owner is called and how they are reached.

    Raises:
        InvalidValue: an empty name.
        OwnerChanged: somebody else changed it since this version was read.
    """
    if "name" in changes and not str(changes["name"]).strip():
        raise InvalidValue("name", "An owner needs a name.")
    same = Owner.objects.filter(pk=owner.pk, version=version)
    # Compare and swap: one statement, the same on every database.
    if not same.update(version=F("version") + 1, **changes):
        raise OwnerChanged(
            "The record has changed since you read it. Read it again, then decide."
        )
    owner.refresh_from_db()
    return owner
