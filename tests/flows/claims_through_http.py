"""A register driven by programs alone: roofs, claims and decisions through HTTP."""

from __future__ import annotations

from datetime import date
from uuid import uuid4

from fleet.models import Role
from tests.api import records

JSON = "application/json"
COMPLETED_ON = "2024-06-03"


class Program:
    """Somebody's program: it sends JSON and keeps the last answer."""

    def __init__(self, user) -> None:
        self.client = records.client_of(user)

    def post(self, address: str, *, status: int = 201, **body: object) -> dict:
        url = f"/api/v1/{address}"
        response = self.client.post(url, body, content_type=JSON)
        assert response.status_code == status, response.content
        return response.json()

    def get(self, address: str, *, status: int = 200, **query: object) -> dict:
        response = self.client.get(f"/api/v1/{address}", query)
        assert response.status_code == status, response.content
        return response.json()


class Register:
    """One fleet's coach with a completed, registered roof, and everybody about it."""

    def __init__(self, *, registered_on: str = "2024-06-10") -> None:
        self.office = Program(records.person())
        self.technician = Program(records.person(Role.TECHNICIAN))
        owner = records.owner()
        self.coach = records.coach(records.person(), owner)
        self.manager = Program(records.manager_of(owner))
        self.roof = self._laid(registered_on)

    def _laid(self, registered_on: str) -> str:
        system, edition = records.system(), records.edition()
        opened = self.technician.post("roofs", coach=str(self.coach.uuid))
        roof = str(opened["uuid"])
        told = {"roof": roof}
        self.technician.post(
            "installations",
            **told,
            system=system.code,
            substrate="ALUMINIUM",
            started_on=COMPLETED_ON,
            completed_on=COMPLETED_ON,
        )
        self.technician.post(
            "penetrations",
            **told,
            label="vent 1",
            kind="VENT",
            x="13",
            y="4",
            place_unit="ft",
            width="14",
            length="14",
            size_unit="in",
            is_detailed=True,
            happened_on=COMPLETED_ON,
        )
        self.technician.post(
            "climate-readings",
            **told,
            taken_at=f"{COMPLETED_ON}T10:00:00-04:00",
            air="72",
            surface="84",
            temperature_unit="F",
            rh_pct="50",
        )
        self.technician.post("film-readings", **told, readings=_film())
        self.office.post(
            "coverages", **told, edition=edition.code, happened_on=COMPLETED_ON
        )
        if registered_on:
            self.manager.post("registrations", **told, registered_on=registered_on)
        return roof

    def inspect(self, on: str, *, result: str = "PASS", kind: str = "INSPECTION"):
        """Record a visit by the technician."""
        return self.technician.post(
            "visits",
            roof=self.roof,
            ref=f"V-{on}",
            kind=kind,
            happened_on=on,
            result=result,
        )

    def claim(self, noticed_on: str, *, by: Program | None = None) -> str:
        """Report a leak on the day it was noticed; return the claim's address."""
        told = (by or self.manager).post(
            "claims",
            roof=self.roof,
            noticed_on=noticed_on,
            reported_on=noticed_on,
            description="Drip below the vent after a night of rain.",
        )
        return f"claims/{told['uuid']}"

    def clauses(self, claim: str) -> dict[str, dict]:
        """Return the clauses on the day the loss was noticed, by name."""
        told = self.office.get(f"{claim}/evidence")
        return {each["clause"]: each for each in told["clauses"]}

    def standing(self, claim: str) -> str:
        """Return the standing on the day the loss was noticed."""
        return self.office.get(f"{claim}/evidence")["standing"]

    def decide(
        self, claim: str, outcome: str, cents: int, *, only: str = "", status: int = 201
    ) -> dict:
        """Decide a claim, citing every clause or one."""
        cited = [only] if only else list(self.clauses(claim))
        return self.office.post(
            f"{claim}/decide",
            status=status,
            outcome=outcome,
            approved_cents=cents,
            reasons=[{"clause": c, "reason": f"We looked at {c}."} for c in cited],
        )

    def letter(self, claim: str) -> str:
        """Return the letter that the holder reads, as one text."""
        told = self.manager.get(f"{claim}/decision")["letter"]
        lines = [line for part in told["parts"] for line in part["paragraphs"]]
        text = "\n".join(lines)
        assert "final" not in text.lower()
        return text

    def status(self, claim: str) -> str:
        """Return where the claim stands, as its holder reads it."""
        return self.manager.get(claim)["status"]


def _film() -> list[dict[str, object]]:
    """Return five spots of three readings on each of three areas, by a notch gauge."""
    return [
        {
            "uuid": str(uuid4()),
            "coat": "base",
            "area_no": area,
            "spot_no": spot,
            "shot_no": shot,
            "last_wet": "28",
            "first_dry": "30",
            "unit": "mil",
            "happened_on": COMPLETED_ON,
        }
        for area in (1, 2, 3)
        for spot in (1, 2, 3, 4, 5)
        for shot in (1, 2, 3)
    ]


def day(text: str) -> date:
    return date.fromisoformat(text)
