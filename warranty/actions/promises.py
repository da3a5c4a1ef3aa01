"""Editions, and what is recorded about one roof's promise."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID, uuid4

from django.db import IntegrityError, transaction

from fleet.actions.errors import InvalidValue
from fleet.actions.recording import Recording, recording
from fleet.actions.roofs import record, text
from fleet.models import OFFICE_SCOPE, Roof, RoofFact, User
from warranty.actions.errors import EditionPublished, TermsNotValid
from warranty.models import (
    Coverage,
    Edition,
    Registration,
    RegistrationLink,
    TermsAssignment,
    Waiver,
)
from warranty.rules.clause import NEVER_WAIVED, Clause
from warranty.rules.terms import TermsInputError
from warranty.selectors.terms import edition_promised, terms_of


def add_edition(*, edition: Edition, now: datetime) -> Edition:
    """Publish an edition; from then on its terms never change.

    Raises:
        TermsNotValid: the rules refuse it.
        EditionPublished: its code is taken.
    """
    try:
        terms_of(edition)
    except TermsInputError as error:
        raise TermsNotValid(str(error)) from None
    edition.published_at = now
    try:
        with transaction.atomic():
            edition.save(force_insert=True)
    except IntegrityError:
        raise EditionPublished(
            f"Edition {edition.code} is published. Give the new one another code."
        ) from None
    return edition


def assign_terms(
    *,
    roof: Roof,
    edition: Edition,
    happened_on: date,
    by: User,
    now: datetime,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> RoofFact:
    """Promise a roof under an edition; coverage follows the assignment that stands."""
    fact = TermsAssignment(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        edition=edition,
        happened_on=happened_on,
    )
    with recording(by=by, now=now) as made:
        made.lock([roof.pk])
        [kept] = record(roof=roof, kind="terms", facts=[fact], by=by, now=now)
        made.flush()
        promised = edition_promised(roof.pk)
        if promised is not None:
            cover(made, roof, promised)
    return kept


def cover(made: Recording, roof: Roof, edition: Edition) -> None:
    """Set the coverage that the assignment stands for."""
    Coverage.objects.update_or_create(roof=roof, defaults={"edition": edition})
    made.touch([roof.pk])


def register(
    *,
    roof: Roof,
    registered_on: date,
    by: User,
    now: datetime,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
    scope: str = OFFICE_SCOPE,
    link: RegistrationLink | None = None,
) -> RoofFact:
    """Record that the owner registered the coverage, by a link if one is named."""
    fact = Registration(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        registered_on=registered_on,
        link=link,
    )
    [kept] = record(
        roof=roof, kind="registration", facts=[fact], by=by, now=now, scope=scope
    )
    return kept


def waive(
    *,
    roof: Roof,
    clause: str,
    from_on: date,
    until_on: date | None,
    why: str,
    by: User,
    now: datetime,
    seconded_by: User | None = None,
    uuid: UUID | None = None,
    supersedes: UUID | None = None,
) -> RoofFact:
    """Waive one clause for a time.

    Raises:
        InvalidValue: a clause that is never waived, no reason, an end before the
            start, or a second person who is the first.
    """
    if clause not in set(Clause) or Clause(clause) in NEVER_WAIVED:
        raise InvalidValue("clause", f"Clause {clause!r} cannot be waived.")
    if not why.strip():
        raise InvalidValue("why", "Say why the clause is waived.")
    if until_on is not None and until_on < from_on:
        raise InvalidValue("until_on", "The waiver ends before it starts.")
    if seconded_by is not None and seconded_by.pk == by.pk:
        raise InvalidValue("seconded_by", "A second person has to be another person.")
    fact = Waiver(
        uuid=uuid or uuid4(),
        supersedes=supersedes,
        clause=clause,
        from_on=from_on,
        until_on=until_on,
        why=text(why),
        seconded_by=seconded_by,
    )
    [kept] = record(roof=roof, kind="waiver", facts=[fact], by=by, now=now)
    return kept
