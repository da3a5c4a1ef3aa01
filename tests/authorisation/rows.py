"""Who may do what: the table that the matrix holds the program to.

Written by hand, not read from the code that it checks. A new route needs its line.
"""

from __future__ import annotations

from enum import StrEnum, unique


@unique
class Who(StrEnum):
    """Which callers get further than a refusal."""

    READ = "any signed-in person, and keys that may read"
    STAFF = "office and technicians: what concerns no one owner"
    RECORD = "office and technicians: facts"
    OFFICE = "the office alone"
    WRITE = "the office, technicians, managers, and keys that may write"
    CLAIM = "the same, and keys that may claim"
    IN_PERSON = "any signed-in person for what is theirs, never a key"
    LOOK_AFTER = "office and managers in person, never a key"
    DEVICE = "paired phones alone"
    OPEN = "everybody: it tells nothing of anybody, or its word is the key"
    PAGE = "any signed-in person"
    PAGE_STAFF = "office and technicians"
    PAGE_OFFICE = "the office alone, on a page"
    PAGE_LOOK_AFTER = "office and managers"


TABLE: dict[Who, str] = {
    Who.READ: """
        GET /api/v1/adhesion-readings
        GET /api/v1/adhesion-readings/<uuid:uuid>
        GET /api/v1/alterations
        GET /api/v1/alterations/<uuid:uuid>
        GET /api/v1/certificates/<uuid:uuid>
        GET /api/v1/certificates/<uuid:uuid>/content
        GET /api/v1/claims
        GET /api/v1/claims/<uuid:uuid>
        GET /api/v1/claims/<uuid:uuid>/decision
        GET /api/v1/claims/<uuid:uuid>/evidence
        GET /api/v1/claims/<uuid:uuid>/packets
        GET /api/v1/climate-readings
        GET /api/v1/climate-readings/<uuid:uuid>
        GET /api/v1/coach-descriptions
        GET /api/v1/coach-descriptions/<uuid:uuid>
        GET /api/v1/coaches
        GET /api/v1/coaches/<uuid:uuid>
        GET /api/v1/coat-logs
        GET /api/v1/coat-logs/<uuid:uuid>
        GET /api/v1/coverages
        GET /api/v1/coverages/<uuid:uuid>
        GET /api/v1/cures
        GET /api/v1/cures/<uuid:uuid>
        GET /api/v1/editions
        GET /api/v1/editions/<uuid:uuid>
        GET /api/v1/exhibits
        GET /api/v1/exhibits/<uuid:uuid>
        GET /api/v1/exhibits/<uuid:uuid>/screen
        GET /api/v1/exhibits/<uuid:uuid>/thumbnail
        GET /api/v1/film-readings
        GET /api/v1/film-readings/<uuid:uuid>
        GET /api/v1/findings
        GET /api/v1/findings/<uuid:uuid>
        GET /api/v1/inspections-due
        GET /api/v1/installations
        GET /api/v1/installations/<uuid:uuid>
        GET /api/v1/me
        GET /api/v1/moisture-readings
        GET /api/v1/moisture-readings/<uuid:uuid>
        GET /api/v1/owners
        GET /api/v1/owners/<uuid:uuid>
        GET /api/v1/ownerships
        GET /api/v1/ownerships/<uuid:uuid>
        GET /api/v1/packets/<uuid:uuid>
        GET /api/v1/packets/<uuid:uuid>/content
        GET /api/v1/penetrations
        GET /api/v1/penetrations/<uuid:uuid>
        GET /api/v1/registrations
        GET /api/v1/registrations/<uuid:uuid>
        GET /api/v1/retirements
        GET /api/v1/retirements/<uuid:uuid>
        GET /api/v1/roofs
        GET /api/v1/roofs/<uuid:uuid>
        GET /api/v1/roofs/<uuid:uuid>/certificates
        GET /api/v1/roofs/<uuid:uuid>/history
        GET /api/v1/roofs/<uuid:uuid>/ledger
        GET /api/v1/roofs/<uuid:uuid>/plan
        GET /api/v1/roofs/<uuid:uuid>/standing
        GET /api/v1/runs
        GET /api/v1/runs/<uuid:uuid>
        GET /api/v1/systems
        GET /api/v1/systems/<uuid:uuid>
        GET /api/v1/transfers
        GET /api/v1/transfers/<uuid:uuid>
        GET /api/v1/visits
        GET /api/v1/visits/<uuid:uuid>
        GET /api/v1/waivers
        GET /api/v1/waivers/<uuid:uuid>
    """,
    Who.STAFF: """
        GET /api/v1/claims/<uuid:uuid>/doubts
        GET /api/v1/exhibits/<uuid:uuid>/original
        GET /api/v1/exhibits/<uuid:uuid>/seen-elsewhere
        GET /api/v1/merges
        GET /api/v1/merges/<uuid:uuid>
        GET /api/v1/technicians
        GET /api/v1/technicians/<uuid:uuid>
        GET /api/v1/tray-photos
        GET /api/v1/tray-photos/<uuid:uuid>
    """,
    Who.RECORD: """
        POST /api/v1/adhesion-readings
        POST /api/v1/alterations
        POST /api/v1/climate-readings
        POST /api/v1/coaches
        POST /api/v1/coaches/<uuid:uuid>/describe
        POST /api/v1/coat-logs
        POST /api/v1/cures
        PUT /api/v1/exhibits/<uuid:uuid>
        POST /api/v1/film-readings
        POST /api/v1/findings
        POST /api/v1/installations
        POST /api/v1/moisture-readings
        POST /api/v1/penetrations
        POST /api/v1/roofs
        POST /api/v1/visits
    """,
    Who.OFFICE: """
        POST /api/v1/claims/<uuid:uuid>/close
        POST /api/v1/claims/<uuid:uuid>/correct
        POST /api/v1/claims/<uuid:uuid>/decide
        POST /api/v1/claims/<uuid:uuid>/doubts
        POST /api/v1/claims/<uuid:uuid>/packet
        POST /api/v1/claims/<uuid:uuid>/remedies
        POST /api/v1/claims/<uuid:uuid>/reopen
        POST /api/v1/claims/<uuid:uuid>/resume
        POST /api/v1/claims/<uuid:uuid>/second
        POST /api/v1/claims/<uuid:uuid>/wait
        POST /api/v1/coaches/<uuid:uuid>/hand-over
        POST /api/v1/coaches/<uuid:uuid>/retire
        POST /api/v1/coverages
        POST /api/v1/editions
        GET /api/v1/editions/<uuid:uuid>/checks
        POST /api/v1/editions/<uuid:uuid>/publish
        POST /api/v1/editions/<uuid:uuid>/revise
        POST /api/v1/editions/<uuid:uuid>/what-if
        GET /api/v1/imports
        POST /api/v1/imports
        GET /api/v1/imports/<uuid:uuid>
        POST /api/v1/imports/<uuid:uuid>/commit
        GET /api/v1/imports/<uuid:uuid>/report
        POST /api/v1/merges
        POST /api/v1/owners
        PATCH /api/v1/owners/<uuid:uuid>
        POST /api/v1/roofs/<uuid:uuid>/certificate
        POST /api/v1/runs/<uuid:uuid>/retry
        POST /api/v1/systems
        POST /api/v1/transfers
        POST /api/v1/tray-photos/<uuid:uuid>/assign
        POST /api/v1/tray-photos/<uuid:uuid>/leave-out
        POST /api/v1/users/<uuid:uuid>/remove-factor
        POST /api/v1/waivers
        POST /api/v1/waivers/<uuid:uuid>/second
        GET /api/v1/what-ifs/<uuid:uuid>
    """,
    Who.WRITE: """
        POST /api/v1/registrations
    """,
    Who.CLAIM: """
        POST /api/v1/claims
        POST /api/v1/claims/<uuid:uuid>/withdraw
    """,
    Who.IN_PERSON: """
        GET /api/v1/access-events
        GET /api/v1/access-events/<uuid:uuid>
        GET /api/v1/invitations
        GET /api/v1/invitations/<uuid:uuid>
        GET /api/v1/keys
        GET /api/v1/keys/<uuid:uuid>
        GET /api/v1/sessions
        GET /api/v1/sessions/<uuid:uuid>
        POST /api/v1/sessions/<uuid:uuid>/end
        GET /api/v1/users
        GET /api/v1/users/<uuid:uuid>
        POST /api/v1/users/<uuid:uuid>/close
        POST /api/v1/users/<uuid:uuid>/open
    """,
    Who.LOOK_AFTER: """
        POST /api/v1/invitations
        POST /api/v1/invitations/<uuid:uuid>/withdraw
        POST /api/v1/keys
        POST /api/v1/keys/<uuid:uuid>/revoke
        POST /api/v1/keys/<uuid:uuid>/rotate
    """,
    Who.DEVICE: """
        POST /api/field/batch
        PUT /api/field/ops/<uuid:op_id>
        PUT /api/field/photos/<uuid:photo_id>
        GET /api/field/work
    """,
    Who.OPEN: """
        PAGE /
        POST /api/field/pair
        GET /api/v1/openapi.json
        PAGE /certificate/<str:number>
        PAGE /field/
        PAGE /field/manifest.webmanifest
        PAGE /field/sw.js
        PAGE /invitation/<str:word>
        PAGE /livez
        PAGE /readyz
        PAGE /sign-in
        PAGE /sign-in/code
        PAGE /sign-out
    """,
    Who.PAGE: """
        PAGE /account/
        PAGE /account/log
        PAGE /account/second-factor
        PAGE /account/sessions
        PAGE /account/sessions/<uuid:uuid>
        PAGE /certificates/<uuid:uuid>.pdf
        PAGE /claims/
        PAGE /claims/<uuid:uuid>/
        PAGE /claims/<uuid:uuid>/close
        PAGE /claims/<uuid:uuid>/decide
        PAGE /claims/<uuid:uuid>/doubts
        PAGE /claims/<uuid:uuid>/letter
        PAGE /claims/<uuid:uuid>/packet
        PAGE /claims/<uuid:uuid>/remedies
        PAGE /claims/<uuid:uuid>/reopen
        PAGE /claims/<uuid:uuid>/resume
        PAGE /claims/<uuid:uuid>/second
        PAGE /claims/<uuid:uuid>/wait
        PAGE /claims/<uuid:uuid>/withdraw
        PAGE /packets/<uuid:uuid>.pdf
        PAGE /roofs/
        PAGE /roofs/<uuid:uuid>/
        PAGE /roofs/<uuid:uuid>/certificate
        PAGE /runs/<uuid:uuid>/
        PAGE /terms/
        PAGE /terms/<uuid:uuid>/
        PAGE /terms/<uuid:uuid>/certificate.pdf
        PAGE /terms/<uuid:uuid>/change
        PAGE /terms/<uuid:uuid>/publish
        PAGE /terms/<uuid:uuid>/what-if
        PAGE /terms/new
        PAGE /what-if/<uuid:uuid>/
    """,
    Who.PAGE_STAFF: """
        PAGE /field-devices/
        PAGE /field-devices/<uuid:uuid>
    """,
    Who.PAGE_OFFICE: """
        PAGE /field-bookings/
        PAGE /field-bookings/<uuid:uuid>
        PAGE /field-review/
        PAGE /field-review/<int:pk>
    """,
    Who.PAGE_LOOK_AFTER: """
        PAGE /invitations/<uuid:uuid>/withdraw
        PAGE /keys/
        PAGE /keys/<uuid:uuid>/revoke
        PAGE /keys/<uuid:uuid>/rotate
        PAGE /people/
        PAGE /people/<uuid:uuid>/close
        PAGE /people/<uuid:uuid>/open
        PAGE /people/<uuid:uuid>/remove-factor
    """,
}
ROWS: dict[str, Who] = {
    line.strip(): who
    for who, lines in TABLE.items()
    for line in lines.strip().splitlines()
}
