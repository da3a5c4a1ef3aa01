"""Which readings make one spot: those of one laying, or those of one later visit."""

from __future__ import annotations

from collections.abc import Hashable, Sequence


def spots_apart(
    areas: Sequence[int], spots: Sequence[int], visits: Sequence[Hashable | None]
) -> list[int]:
    """Return each reading's spot number, no two attendances under one number.

    What was read while the film was laid keeps its numbers. Readings of a later visit
    that carry the same numbers are spots of their own: they get the next free numbers
    of their area, in the order in which they come.

    Parameters
    ----------
    areas, spots : sequence of int, shape (n,)
        As they were recorded, in the order of their day.
    visits : sequence, shape (n,)
        None for what was read while the film was laid, else what tells the later
        visit: its day.

    Returns
    -------
    list of int, shape (n,)

    Notes
    -----
    Project convention: SSPC-PA 2 takes a spot's readings at one time and place
    (cluster of 12 mm); readings years apart are no cluster.
    """
    if all(visit is None for visit in visits):
        return list(spots)
    highest: dict[int, int] = {}
    for area, spot, visit in zip(areas, spots, visits, strict=True):
        if visit is None:
            highest[area] = max(spot, highest.get(area, 0))
    given: dict[tuple[int, Hashable, int], int] = {}
    numbers = []
    for area, spot, visit in zip(areas, spots, visits, strict=True):
        if visit is None:
            numbers.append(spot)
            continue
        key = (area, visit, spot)
        if key not in given:
            highest[area] = given[key] = highest.get(area, 0) + 1
        numbers.append(given[key])
    return numbers
