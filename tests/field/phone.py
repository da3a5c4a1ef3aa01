"""Phones for the field tests: they speak HTTP as the page on the roof does."""

from __future__ import annotations

import base64
import hashlib
import json
from dataclasses import dataclass, field
from datetime import timedelta
from io import BytesIO
from typing import Any
from uuid import UUID, uuid4

from django.test import Client
from django.utils import timezone
from PIL import Image

from fleet.actions.devices import make_code, pair
from fleet.api.field.access import COOKIE
from fleet.models import FieldDevice, Role, Roof, User
from tests.builders import make_user


def picture(shade: int = 90) -> bytes:
    """Return the bytes of a small plain picture."""
    file = BytesIO()
    Image.new("RGB", (16, 12), (shade, shade, 120)).save(file, "PNG")
    return file.getvalue()


PNG = picture()


def make_technician(**over: Any) -> User:
    """Somebody who works on roofs."""
    return make_user(**{"role": Role.TECHNICIAN, **over})


@dataclass(slots=True, kw_only=True)
class Phone:
    """One paired phone and the requests it makes."""

    device: FieldDevice
    client: Client = field(default_factory=Client)

    def put(self, body: object, op_id: UUID | None = None) -> Any:
        """Send one operation; bytes go as they are."""
        raw = body if isinstance(body, bytes) else json.dumps(body).encode()
        return self.client.put(
            f"/api/field/ops/{op_id or uuid4()}",
            raw,
            content_type="application/json",
            headers={"X-Field": "1"},
        )

    def batch(self, ops: list[Any]) -> Any:
        """Send several operations at once."""
        return self.client.post(
            "/api/field/batch",
            json.dumps({"ops": ops}),
            content_type="application/json",
            headers={"X-Field": "1"},
        )

    def put_photo(self, content: bytes, photo: UUID, **over: Any) -> Any:
        """Send a photo's bytes with their digest."""
        digest = base64.b64encode(hashlib.sha256(content).digest()).decode()
        headers = {"X-Field": "1", "Content-Digest": f"sha-256=:{digest}:"}
        return self.client.put(
            f"/api/field/photos/{photo}",
            content,
            content_type="image/png",
            headers={**headers, **over},
        )

    def get_work(self, **headers: str) -> Any:
        """Ask for the work list."""
        return self.client.get("/api/field/work", headers={"X-Field": "1", **headers})


def make_phone(user: User | None = None, name: str = "phone on the ladder") -> Phone:
    """Pair a phone with a technician."""
    person = user or make_technician()
    now = timezone.now()
    code = make_code(user=person, by=person, now=now)
    device, token = pair(code=code, device_name=name, address="192.0.2.9", now=now)
    phone = Phone(device=device)
    phone.client.cookies[COOKIE] = token
    return phone


def op(kind: str, roof: Roof, **over: Any) -> dict[str, Any]:
    """Return an operation with its body; ``body`` members go over the defaults."""
    body = {"uuid": str(uuid4()), **BODIES[kind](), **over.pop("body", {})}
    if kind == "film":
        body.pop("uuid")
    return {
        "kind": kind,
        "roof": str(roof.uuid),
        "visit": None,
        "captured_at": (timezone.now() - timedelta(hours=2)).isoformat(),
        "app_version": "1",
        "body": body,
        **over,
    }


def uuid_of(operation: dict[str, Any]) -> str:
    """Return the uuid of the record that an operation tells."""
    return str(operation["body"]["uuid"])


def reading(**over: Any) -> dict[str, Any]:
    """Return one notch reading as a phone tells it."""
    return {
        "uuid": str(uuid4()),
        "coat": "base",
        "area_no": 1,
        "spot_no": 1,
        "shot_no": 1,
        "last_wet": 20,
        "first_dry": 22,
        "unit": "mil",
        "happened_on": "2026-05-05",
        **over,
    }


def photo_body(content: bytes = PNG) -> dict[str, Any]:
    """Return what tells the meaning of some bytes."""
    return {
        "photo": str(uuid4()),
        "sha256": hashlib.sha256(content).hexdigest(),
        "media_type": "image/png",
    }


BODIES: dict[str, Any] = {
    "adhesion": lambda: {"method": "TAPE_X", "grade": 4, "happened_on": "2026-05-05"},
    "check": lambda: {"step": "hold.dry-and-clean", "answer": "YES", "note": ""},
    "climate": lambda: {
        "taken_at": "2026-05-04T09:30:00-04:00",
        "air": 70,
        "surface": "81.5",
        "temperature_unit": "F",
        "rh_pct": 52,
        "coat": "",
    },
    "coat_log": lambda: {
        "coat": "base",
        "lot": "L-77",
        "volume": 2,
        "volume_unit": "gal",
        "thinner_ratio": 0.05,
        "happened_on": "2026-05-04",
    },
    "cure": lambda: {"happened_on": "2026-05-20"},
    "film": lambda: {"readings": [reading()]},
    "finding": lambda: {
        "severity": "SERIOUS",
        "cause": "holiday",
        "penetration_label": "",
        "x_m": 1.25,
        "y_m": 0.4,
        "note": "bare spot by the vent",
        "happened_on": "2026-05-19",
    },
    "installation": lambda: {
        "substrate": "EPDM",
        "started_on": "2026-05-04",
        "completed_on": None,
    },
    "moisture": lambda: {
        "moisture_pct": 11,
        "mode": "PIN",
        "happened_on": "2026-05-03",
    },
    "penetration": lambda: {
        "label": "vent 2",
        "kind": "VENT",
        "x": 6,
        "y": 3,
        "place_unit": "ft",
        "width": 14,
        "length": 14,
        "size_unit": "in",
        "is_detailed": True,
        "happened_on": "2026-05-05",
    },
    "photo": lambda: {
        **photo_body(),
        "caption": "before",
        "finding": None,
        "penetration_label": "",
        "x_m": 1,
        "y_m": 1,
        "is_before": True,
    },
    "signature": lambda: {
        **photo_body(),
        "signer_name": "Ada Ferrin",
        "role": "OWNER",
        "signed_at": "2026-05-05T16:00:00-04:00",
    },
    "visit": lambda: {
        "ref": "INS",
        "visit_kind": "INSPECTION",
        "happened_on": "2026-05-19",
        "booking": None,
        "result": "NONE",
        "note": "",
        "supersedes": None,
    },
}
