"""What a claim still needs on record before it can be decided, clause by clause."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from warranty.rules.cause import Cause
from warranty.rules.clause import Clause, Verdict
from warranty.rules.explain import ClauseResult


class Need(StrEnum):
    """One kind of record that a claim is judged by. Common practice, no source."""

    CLAUSE = "clause"
    PLACE = "place"
    PHOTOS = "photos"
    LEAK_CALL = "leak_call"
    CAUSE_FOUND = "cause_found"
    DECK_MOISTURE = "deck_moisture"
    FILM_AT_PLACE = "film_at_place"
    ADHESION = "adhesion"
    ALTERATIONS_ASKED = "alterations_asked"
    LAST_INSPECTION = "last_inspection"
    ESTIMATE = "estimate"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimRecords:
    """What is on record about one claim. Texts are references of the records."""

    cause: Cause
    place: str = ""
    photos: int = 0
    leak_calls: tuple[str, ...] = ()  # since the loss was noticed
    causes_found: tuple[str, ...] = ()
    moisture_readings: int = 0  # since the loss was noticed
    film_readings: int = 0  # at the place, or on the roof when none is marked
    adhesion_readings: int = 0  # since the loss was noticed
    alterations: tuple[str, ...] = ()
    inspections: tuple[str, ...] = ()  # until the loss was noticed, the latest last
    has_estimate: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """One piece of evidence: there or missing, and for which clause it speaks."""

    need: Need
    clause: Clause | None  # None: for the claim as a whole
    is_there: bool
    what: str
    records: tuple[str, ...] = ()


# A photo from afar and one close: the least that shows where and what.
PHOTOS_NEEDED: Final = 2
ALWAYS: Final = (Need.PLACE, Need.PHOTOS, Need.LEAK_CALL, Need.CAUSE_FOUND)
BY_CAUSE: Final[dict[Cause, tuple[Need, ...]]] = {
    Cause.FILM: (Need.FILM_AT_PLACE, Need.DECK_MOISTURE),
    Cause.DETAIL: (Need.LAST_INSPECTION, Need.DECK_MOISTURE),
    Cause.ADHESION: (Need.ADHESION, Need.FILM_AT_PLACE),
    Cause.SUBSTRATE: (Need.DECK_MOISTURE,),
    Cause.IMPACT: (Need.LAST_INSPECTION, Need.DECK_MOISTURE),
    Cause.ALTERATION: (Need.ALTERATIONS_ASKED, Need.LAST_INSPECTION),
    Cause.NOT_ROOF: (Need.DECK_MOISTURE,),
    Cause.CONDENSATION: (Need.DECK_MOISTURE,),
    Cause.UNKNOWN: (Need.DECK_MOISTURE, Need.LAST_INSPECTION),
}
_CLAUSE_OF: Final[dict[Need, Clause]] = {
    Need.FILM_AT_PLACE: Clause.FILM,
    Need.ADHESION: Clause.SUBSTRATE,
    Need.ALTERATIONS_ASKED: Clause.ALTERATIONS,
    Need.LAST_INSPECTION: Clause.INSPECTIONS,
}


def evidence_for(
    records: ClaimRecords, results: Sequence[ClauseResult]
) -> tuple[Evidence, ...]:
    """Return what the claim needs on record, there or missing.

    Parameters
    ----------
    records : ClaimRecords
        What there is; the cause decides what is asked for.
    results : sequence of ClauseResult
        Every clause of the edition on the day the loss was noticed. A clause that is
        unknown is missing its records; empty when no terms were promised.

    Returns
    -------
    tuple of Evidence
        The claim's own first, then by clause in the edition's order.
    """
    wanted = [*ALWAYS, *BY_CAUSE[records.cause], Need.ESTIMATE]
    found = [_evidence(need, records) for need in wanted]
    found += [_of_clause(each) for each in results if each.verdict is Verdict.UNKNOWN]
    place = {result.clause: number for number, result in enumerate(results)}
    return tuple(
        sorted(found, key=lambda e: place.get(e.clause, len(place)) if e.clause else -1)
    )


def missing(evidence: Sequence[Evidence]) -> tuple[Evidence, ...]:
    """Return what is not on record yet."""
    return tuple(each for each in evidence if not each.is_there)


def _of_clause(result: ClauseResult) -> Evidence:
    return Evidence(
        need=Need.CLAUSE,
        clause=result.clause,
        is_there=False,
        what=f"{result.because} {result.cure}".strip(),
        records=result.evidence,
    )


def _evidence(need: Need, records: ClaimRecords) -> Evidence:
    is_there, what, references = _LOOK[need](records)
    return Evidence(
        need=need,
        clause=_CLAUSE_OF.get(need),
        is_there=is_there,
        what=what,
        records=references,
    )


Look = tuple[bool, str, tuple[str, ...]]


def _place(records: ClaimRecords) -> Look:
    what = "Where the water came in, on the roof plan or by its penetration."
    return bool(records.place), what, (records.place,) if records.place else ()


def _photos(records: ClaimRecords) -> Look:
    what = (
        f"At least {PHOTOS_NEEDED} photos of the place, one from afar and one close; "
        f"{records.photos} so far."
    )
    return records.photos >= PHOTOS_NEEDED, what, ()


def _leak_call(records: ClaimRecords) -> Look:
    what = "A leak call or inspection since the water was noticed."
    return bool(records.leak_calls), what, records.leak_calls


def _cause_found(records: ClaimRecords) -> Look:
    what = "A finding with its cause; windows, plumbing and condensation ruled out."
    is_there = records.cause is not Cause.UNKNOWN
    return is_there, what, records.causes_found


def _moisture(records: ClaimRecords) -> Look:
    count = records.moisture_readings
    what = f"Deck moisture around the place since then; {count} readings so far."
    return count > 0, what, ()


def _film(records: ClaimRecords) -> Look:
    count = records.film_readings
    what = f"Film readings at the place or in its area; {count} so far."
    return count > 0, what, ()


def _adhesion(records: ClaimRecords) -> Look:
    count = records.adhesion_readings
    return count > 0, f"An adhesion test beside the place; {count} so far.", ()


def _alterations(records: ClaimRecords) -> Look:
    what = "What was fitted to the roof since it was coated, by whom and when."
    return bool(records.alterations), what, records.alterations


def _inspection(records: ClaimRecords) -> Look:
    what = "What the last inspection before the loss said of that place."
    return bool(records.inspections), what, records.inspections[-1:]


def _estimate(records: ClaimRecords) -> Look:
    return records.has_estimate, "An estimate of what putting it right costs.", ()


_LOOK: Final = {
    Need.PLACE: _place,
    Need.PHOTOS: _photos,
    Need.LEAK_CALL: _leak_call,
    Need.CAUSE_FOUND: _cause_found,
    Need.DECK_MOISTURE: _moisture,
    Need.FILM_AT_PLACE: _film,
    Need.ADHESION: _adhesion,
    Need.ALTERATIONS_ASKED: _alterations,
    Need.LAST_INSPECTION: _inspection,
    Need.ESTIMATE: _estimate,
}
