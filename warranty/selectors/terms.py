"""Editions as the rules read them."""

from __future__ import annotations

from collections.abc import Iterable

from fleet.ledger.correction import rows_that_stand
from warranty.models import Edition, TermsAssignment
from warranty.rules.clause import CLAUSES, Clause
from warranty.rules.terms import Anchor, Designation, HolderKind, Terms


def clauses_of(edition: Edition) -> tuple[Clause, ...]:
    """Return the clauses that an edition has switched on, in the rules' order."""
    off = set()
    if not edition.requires_dry_deck:
        off.add(Clause.DECK_DRY)
    if not edition.forbids_alterations:
        off.add(Clause.ALTERATIONS)
    return tuple(clause for clause in CLAUSES if clause not in off)


def terms_of(edition: Edition) -> Terms:
    """Return one edition as the rules read it."""
    return Terms(
        code=edition.code,
        title=edition.title,
        owner_kind=HolderKind(edition.owner_kind),
        anchor=Anchor(edition.anchor),
        interval_months=edition.interval_months,
        window_days=edition.window_days,
        grace_days=edition.grace_days,
        reinstatement_days=edition.reinstatement_days,
        registration_days=edition.registration_days,
        serious_cure_days=edition.serious_cure_days,
        term_months=edition.term_months,
        clauses=clauses_of(edition),
        designation=Designation(edition.designation),
        life_of=edition.life_of,
        inspections_free=edition.inspections_free,
        accepts_other_shops=edition.accepts_other_shops,
    )


def edition_promised(roof_id: int) -> Edition | None:
    """Return the edition of the latest assignment that stands, or None."""
    return editions_promised([roof_id]).get(roof_id)


def editions_promised(roof_ids: Iterable[int]) -> dict[int, Edition]:
    """Return by roof the edition of the latest assignment that stands."""
    by_roof: dict[int, list[TermsAssignment]] = {}
    rows = TermsAssignment.objects.filter(roof_id__in=list(roof_ids))
    for row in rows.select_related("edition").order_by("happened_on", "pk"):
        by_roof.setdefault(row.roof_id, []).append(row)
    standing = {pk: rows_that_stand(rows).rows for pk, rows in by_roof.items()}
    return {pk: rows[-1].edition for pk, rows in standing.items() if rows}


def editions_by_id(edition_ids: Iterable[int]) -> dict[int, Edition]:
    """Return editions by their id."""
    rows = Edition.objects.filter(pk__in=set(edition_ids)).order_by("pk")
    return {edition.pk: edition for edition in rows}
