"""Owners and technicians that a workbook names."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from fleet.models import Owner, OwnerKind, Technician
from warranty.actions.importing.rows import CoachRow

OwnerKey = tuple[str, str, str]


def owner_key(name: str, kind: str, email: str) -> OwnerKey:
    """Return what tells owners apart in a workbook.

    A fleet is its name: each of its desks writes its own address. Two private persons
    of one name are one person only with one address: to join them wrongly would show
    one the other's coach.
    """
    is_private = kind == OwnerKind.PRIVATE
    return kind, name, email.casefold() if is_private else ""


@dataclass(slots=True, kw_only=True)
class People:
    """Those on record, and those that this batch adds."""

    owners: dict[OwnerKey, Owner]
    technicians: dict[str, Technician]
    new_owners: list[Owner] = field(default_factory=list)
    new_technicians: list[Technician] = field(default_factory=list)

    def owner(self, row: CoachRow) -> Owner:
        """Return the owner that a row names, added when new."""
        key = owner_key(row.owner, row.owner_kind, row.owner_email)
        found = self.owners.get(key)
        if found is None:
            found = Owner(name=row.owner, kind=row.owner_kind, email=row.owner_email)
            self.owners[key] = found
            self.new_owners.append(found)
        return found.merged_into or found

    def technician(self, name: str) -> Technician | None:
        """Return the technician of this name, added when new; none for no name."""
        if not name:
            return None
        if name not in self.technicians:
            self.technicians[name] = Technician(name=name)
            self.new_technicians.append(self.technicians[name])
        return self.technicians[name]


def find_people(owner_names: Iterable[str], technicians: Iterable[str]) -> People:
    """Return the owners and technicians of these names that are on record."""
    names = sorted(set(owner_names) - {""})
    owners: dict[OwnerKey, Owner] = {}
    rows = Owner.objects.select_related("merged_into").filter(name__in=names)
    for owner in rows.order_by("pk"):
        owners.setdefault(owner_key(owner.name, owner.kind, owner.email), owner)
    known = Technician.objects.filter(name__in=sorted(set(technicians) - {""}))
    return People(
        owners=owners, technicians={row.name: row for row in known.order_by("pk")}
    )
