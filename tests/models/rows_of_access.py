"""Valid rows and refused ones for keys, sign-in and people."""

from __future__ import annotations

from datetime import timedelta
from itertools import count
from uuid import uuid4

from fleet import models as fleet
from tests.builders import NOON, office
from tests.models.rows import VALID, Case, case, owner, saved, valid

_numbers = count(1)
LATER = NOON + timedelta(days=7)


def person() -> fleet.User:
    return fleet.User.objects.create(username=f"guest-{next(_numbers)}")


VALID.update(
    {
        fleet.AccessEvent: lambda: {"at": NOON, "kind": "SIGNED_IN"},
        fleet.ApiKey: lambda: {
            "owner": owner(),
            "user": person(),
            "name": "Yard sync",
            "may_read": True,
            "made_at": NOON,
            "made_by": office(),
        },
        fleet.ApiKeySecret: lambda: {
            "key": saved(valid(fleet.ApiKey)),
            "slot": 1,
            "prefix": uuid4().hex[:12],
            "secret_sha256": "0" * 64,
            "made_at": NOON,
            "expires_at": LATER,
        },
        fleet.SignInTry: lambda: {
            "tried_by": "ACCOUNT",
            "subject": f"subject-{next(_numbers)}",
            "began_at": NOON,
            "tries": 1,
        },
        fleet.RecoveryCode: lambda: {
            "user": person(),
            "code_hmac": f"{next(_numbers):064}",
        },
        fleet.Invitation: lambda: {
            "name": "Wren Alder",
            "email": "wren@harrow-lake.example",
            "role": "OFFICE",
            "invited_by": office(),
            "invited_at": NOON,
            "expires_at": LATER,
        },
    }
)

ACCESS_CASES: list[Case] = [
    case(
        "access_event_kind_known",
        fleet.AccessEvent,
        takes={"kind": "KEY_USED"},
        refuses={"kind": "KNOCKED"},
    ),
    case("api_key_named", fleet.ApiKey, takes={"name": "A"}, refuses={"name": ""}),
    case(
        "api_key_may_something",
        fleet.ApiKey,
        takes={"may_read": False, "may_claim": True},
        refuses={"may_read": False},
    ),
    case(
        "api_key_secret_slot_known",
        fleet.ApiKeySecret,
        takes={"slot": 2},
        refuses={"slot": 3},
    ),
    case(
        "api_key_two_secrets_live",
        fleet.ApiKeySecret,
        takes=lambda first: {"key": first.key, "slot": 2},
        refuses=lambda first: {"key": first.key, "slot": 1},
    ),
    case(
        "api_key_secret_expires_after_made",
        fleet.ApiKeySecret,
        takes={"expires_at": NOON + timedelta(seconds=1)},
        refuses={"expires_at": NOON},
    ),
    case(
        "sign_in_try_kind_known",
        fleet.SignInTry,
        takes={"tried_by": "NETWORK"},
        refuses={"tried_by": "STREET"},
    ),
    case(
        "sign_in_try_once_per_subject",
        fleet.SignInTry,
        takes=lambda first: {"tried_by": "NETWORK", "subject": first.subject},
        refuses=lambda first: {"subject": first.subject},
    ),
    case(
        "recovery_code_once_per_user",
        fleet.RecoveryCode,
        takes=lambda first: {"code_hmac": first.code_hmac},
        refuses=lambda first: {"user": first.user, "code_hmac": first.code_hmac},
    ),
    case(
        "invitation_role_known",
        fleet.Invitation,
        takes={"role": "TECHNICIAN"},
        refuses={"role": "GUEST"},
    ),
    case(
        "invitation_owner_goes_with_fleet_manager",
        fleet.Invitation,
        takes=lambda _: {"role": "FLEET_MANAGER", "owner": owner()},
        refuses={"role": "FLEET_MANAGER"},
    ),
    case(
        "invitation_expires_after_made",
        fleet.Invitation,
        takes={"expires_at": NOON + timedelta(seconds=1)},
        refuses={"expires_at": NOON},
    ),
    case(
        "invitation_accepted_makes_a_user",
        fleet.Invitation,
        takes=lambda _: {"accepted_at": NOON, "user": person()},
        refuses={"accepted_at": NOON},
    ),
    case(
        "invitation_withdrawn_or_accepted",
        fleet.Invitation,
        takes={"withdrawn_at": NOON},
        refuses=lambda _: {
            "accepted_at": NOON,
            "user": person(),
            "withdrawn_at": NOON,
        },
    ),
]
