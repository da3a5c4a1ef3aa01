"""The matrix: every operation, every caller, every place of an id, every kind of id."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass

from django.db import transaction
from django.http import HttpResponse
from django.test import Client

from tests.authorisation.bodies import body_of, filters_of, kind_of, with_id
from tests.authorisation.routes import Operation, operations
from tests.authorisation.rows import ROWS, Who
from tests.authorisation.world import World

JSON = "application/json"
IDS = ("own", "foreign", "sold", "gone", "random")
STAFF = frozenset({"office", "technician"})
STRANGERS = frozenset({"nobody", "closed manager", "revoked key"})
KEYS = frozenset({"key to read", "key to write", "key to claims", "key to all"})
FLEET = frozenset({"manager", *KEYS})
CALLERS = (*sorted(STAFF), "manager", *sorted(KEYS), *sorted(STRANGERS), "device")
# Of a page's address the first word, where a record's kind has another name.
PAGE_KINDS = {
    "what-if": "what-ifs",
    "terms": "editions",
    "people": "users",
    "field-devices": "devices",
    "field-bookings": "bookings",
    "account": "sessions",
}
VOLATILE = (
    (re.compile(r"[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12}"), "<uuid>"),
    (re.compile(r"\d{4}-\d\d-\d\dT[\d:.]+(?:Z|[+-]\d\d:\d\d)"), "<moment>"),
    (re.compile(r"[0-9a-f]{64}"), "<hash>"),
    (re.compile(r"C-[0-9A-F]{12}"), "<ref>"),
    (re.compile(r"rr_[0-9a-f]{12}_[\w-]{43}"), "<key>"),
    (re.compile(r'"prefix": ?"[0-9a-f]{12}"'), "<prefix>"),
    (re.compile(r"/invitation/[^\"<]+"), "<link>"),
    (re.compile(r'name="csrfmiddlewaretoken" value="\w+"'), "<token>"),
)


@dataclass(frozen=True, slots=True)
class Cell:
    """One question: who asks what, with which id where."""

    operation: Operation
    who: str
    place: str  # "-": no id; "path"; "?name"; "/member"
    ids: str

    def __str__(self) -> str:
        return f"{self.operation} by {self.who}, {self.ids} id at {self.place}"


def row_of(operation: Operation) -> Who | None:
    """Return an operation's row; a page has one for reading and writing."""
    name = str(operation)
    if not operation.address.startswith("api/"):
        name = f"PAGE /{operation.address}"
    return ROWS.get(name)


def cells(world: World) -> Iterator[Cell]:
    """Yield the whole matrix."""
    for operation in operations():
        for place in places_of(operation, world):
            for who in CALLERS:
                for ids in IDS if place != "-" else ("own",):
                    yield Cell(operation, who, place, ids)


def places_of(operation: Operation, world: World) -> list[str]:
    """Return where an id stands in this operation's requests."""
    found = ["path"] if "<" in operation.address else ["-"]
    found += [f"?{name}" for name in filters_of(operation)]
    found += [_told(place) for place in body_of(operation, world.own)[1]]
    return found


def leak_of(cell: Cell, world: World) -> str:
    """Return what is wrong with the answer of a cell; empty when nothing is."""
    answer = ask(cell, world)
    status = answer.status_code
    # 503 is the honest answer of /readyz where no runner is.
    if status >= 500 and status != 503:
        return f"the register failed: {status}"
    row = row_of(cell.operation)
    if row is None:
        return "no row in tests/authorisation/rows.py"
    allowed = is_allowed(cell, row)
    if not allowed and status < 400 and not _is_led_to_the_door(answer):
        return f"answered {status} to who may not"
    fault = _own_fault(cell, status, allowed=allowed)
    if fault:
        return fault
    if cell.who in STAFF or row is Who.OPEN:
        return ""
    if world.canary.encode() in _bytes_of(answer) and cell.who not in STAFF:
        return "told a word of another fleet"
    if cell.ids in {"foreign", "sold", "gone"} and _names_an_owners(cell):
        random = Cell(cell.operation, cell.who, cell.place, "random")
        return _difference(answer, ask(random, world))
    return ""


def _own_fault(cell: Cell, status: int, *, allowed: bool) -> str:
    """Say when somebody is refused what is theirs, in the path or without an id."""
    if cell.ids != "own" or cell.place not in {"-", "path"} or not allowed:
        return ""
    kind = _page_kind(cell.operation)
    is_nothing_there = kind in OF_NOBODY or str(cell.operation) in NOT_YET
    if is_nothing_there or cell.who == "device":
        return ""
    is_theirs = cell.who in FLEET or cell.who == "office"
    if is_theirs and cell.operation.is_api and status in {401, 403, 404}:
        # A key's or a manager's own session or account is another than the fleet's.
        return "" if kind in PERSONAL else f"refused with {status} what is theirs"
    return ""


# No row of these exists here, or the address has a word in place of an id.
OF_NOBODY = frozenset({"imports", "merges", "tray-photos", "what-ifs", "certificate"})
# The claims here are undecided, and nothing about them is in doubt.
NOT_YET = frozenset(
    {
        "GET /api/v1/claims/<uuid:uuid>/decision",
        "POST /api/v1/claims/<uuid:uuid>/doubts",
    }
)
PERSONAL = frozenset({"sessions", "users", "exhibits"})


# Products and terms are no fleet's own: everybody who signs in may read them.
SHARED = frozenset({"editions", "systems"})
# Lists of these, narrowed to a coach that was sold, still hold the seller's own.
STAYS_WITH_SELLER = frozenset({"claims", "transfers"})


def _names_an_owners(cell: Cell) -> bool:
    """Return whether the id of a cell is one that not everybody may know."""
    if cell.place == "path":
        return _page_kind(cell.operation) not in SHARED
    if cell.ids == "sold" and cell.place.startswith("?"):
        return _page_kind(cell.operation) not in STAYS_WITH_SELLER
    steps = tuple(cell.place.strip("?/").split("/"))
    return kind_of(steps, cell.operation) not in SHARED


def is_allowed(cell: Cell, row: Who) -> bool:
    """Return whether the table lets this caller past a refusal."""
    who = cell.who
    if row is Who.OPEN:
        return True
    if who in STRANGERS:
        return False
    if who == "device" or row is Who.DEVICE:
        return who == "device" and row is Who.DEVICE
    if who in KEYS:
        return KEY_RIGHT_OF.get(row, "none") in _rights(who)
    return who in PEOPLE_OF.get(row, PEOPLE)


PEOPLE = frozenset({"office", "technician", "manager"})
PEOPLE_OF = {
    Who.STAFF: STAFF,
    Who.RECORD: STAFF,
    Who.PAGE_STAFF: STAFF,
    Who.OFFICE: frozenset({"office"}),
    Who.PAGE_OFFICE: frozenset({"office"}),
    Who.LOOK_AFTER: frozenset({"office", "manager"}),
    Who.PAGE_LOOK_AFTER: frozenset({"office", "manager"}),
}
KEY_RIGHT_OF = {Who.READ: "read", Who.WRITE: "write", Who.CLAIM: "claims"}


def _rights(key: str) -> frozenset[str]:
    named = key.removeprefix("key to ")
    return frozenset({"read", "write", "claims"} if named == "all" else {named})


def ask(cell: Cell, world: World) -> HttpResponse:
    """Return the answer of a cell; whatever it did is undone."""
    operation, client = cell.operation, world.clients[cell.who]
    ids = world.own if cell.place != "path" else _ids(cell, world)
    address = "/" + re.sub(
        r"<(\w+):(\w+)>",
        lambda found: _in_path(found[1], _page_kind(operation), ids),
        operation.address,
    )
    body, places = body_of(operation, world.own)
    if cell.place.startswith("?"):
        name = cell.place[1:]
        kind = kind_of((name,), operation)
        address += f"{cell.place}={_ids(cell, world).get(kind, world.gone['roofs'])}"
    for place in places:
        if _told(place) == cell.place:
            kind = kind_of(place, operation)
            value = _ids(cell, world).get(kind, world.gone["roofs"])
            body = with_id(body, place, str(value))
    cookies = client.cookies.copy()
    with transaction.atomic():
        answer = _send(client, operation, address, body)
        _bytes_of(answer)
        transaction.set_rollback(True)
    client.cookies = cookies
    return answer


def _send(
    client: Client, operation: Operation, address: str, body: dict
) -> HttpResponse:
    send = getattr(client, operation.method.lower())
    if operation.method == "GET":
        return send(address)
    if not operation.address.startswith("api/"):
        return send(address, body)
    headers = {"If-Match": '"heron"'} if operation.method == "PATCH" else {}
    if operation.address.startswith("api/field/"):
        headers["X-Field"] = "1"
    return send(address, json.dumps(body), content_type=JSON, headers=headers)


def _in_path(form: str, kind: str, ids: dict) -> str:
    if form == "uuid":
        return str(ids.get(kind, ids["roofs"]))
    return "1" if form == "int" else "ABCDE-ABCDE-ABCDE-ABCDE"


def _page_kind(operation: Operation) -> str:
    parts = operation.address.split("/")
    first = parts[2] if operation.is_api else parts[0]
    return PAGE_KINDS.get(first, first)


def _ids(cell: Cell, world: World) -> dict:
    if cell.ids == "random":
        return dict.fromkeys(world.own, RANDOM)
    ids = getattr(world, cell.ids)
    # Not every kind is sold with a coach; what is not is a foreign one.
    return world.foreign | ids if cell.ids == "sold" else ids


RANDOM = "0f5b3a52-6a0e-4a4a-9a35-6d2f1b7c9e11"


def _told(place: tuple[str | int, ...]) -> str:
    return "/" + "/".join(str(step) for step in place)


def _bytes_of(answer: HttpResponse) -> bytes:
    if not answer.streaming:
        return answer.content
    if not hasattr(answer, "read_once"):
        answer.read_once = b"".join(answer.streaming_content)
    return answer.read_once


def _is_led_to_the_door(answer: HttpResponse) -> bool:
    return answer.status_code == 302 and "/sign-in" in answer.headers["Location"]


def _difference(answer: HttpResponse, random: HttpResponse) -> str:
    """Say how an answer differs from that for an id nobody has."""
    if answer.status_code != random.status_code:
        return f"{answer.status_code}, but {random.status_code} for a random id"
    one, other = _steady(answer), _steady(random)
    if one != other:
        return f"another answer than for a random id: {one[:200]} / {other[:200]}"
    return ""


def _steady(answer: HttpResponse) -> str:
    location = answer.headers.get("Location", "")
    told = f"{location}\n{_bytes_of(answer).decode(errors='replace')}"
    for volatile, word in VOLATILE:
        told = volatile.sub(word, told)
    return told
