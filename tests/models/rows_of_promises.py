"""Valid rows and refused ones for contacts, approvals, receipts and owners' links."""

from __future__ import annotations

from datetime import timedelta

from fleet import models as fleet
from tests.builders import COMPLETED, NOON, office
from tests.models.rows import (
    RECORD_NAMES,
    VALID,
    Case,
    case,
    number,
    of_every_record,
    owner,
    private_text,
    roof,
    visit,
)
from warranty import models as warranty

VALID.update(
    {
        fleet.Contact: lambda: {
            "owner": owner(),
            "role": "DRIVER",
            "name": "B",
            "phone": "1",
        },
        fleet.Attempt: lambda: {"who_sha256": f"{number():064}", "window_at": NOON},
        warranty.VisitApproval: lambda: {"visit": visit(), "why": private_text()},
        warranty.Receipt: lambda: {"happened_on": COMPLETED, "invoice_no": "R-1"},
        warranty.RegistrationLink: lambda: {
            "roof": roof(),
            "code_sha256": f"{number():064}",
            "made_at": NOON,
            "made_by": office(),
            "expires_at": NOON + timedelta(days=1),
        },
    }
)
PROMISE_RECORDS: dict[str, type[fleet.Record]] = {
    "visit_approval": warranty.VisitApproval,
    "receipt": warranty.Receipt,
}
RECORD_NAMES.update(PROMISE_RECORDS)

PROMISE_CASES: list[Case] = [
    *(
        each
        for name, table in PROMISE_RECORDS.items()
        for each in of_every_record(name, table)
    ),
    case(
        "contact_role_known",
        fleet.Contact,
        takes={"role": "SPOUSE"},
        refuses={"role": "FRIEND"},
    ),
    case(
        "contact_name_given",
        fleet.Contact,
        takes={"name": "C"},
        refuses={"name": ""},
    ),
    case(
        "attempt_one_count_a_window",
        fleet.Attempt,
        takes=lambda first: {
            "who_sha256": first.who_sha256,
            "window_at": NOON + timedelta(minutes=10),
        },
        refuses=lambda first: {"who_sha256": first.who_sha256},
    ),
    case(
        "receipt_says_something",
        warranty.Receipt,
        takes={"invoice_no": "", "paid_cents": 9500},
        refuses={"invoice_no": ""},
    ),
    case(
        "receipt_paid_not_negative",
        warranty.Receipt,
        takes={"paid_cents": 0},
        refuses={"paid_cents": -1},
    ),
    case(
        "registration_link_ends_after_it_is_made",
        warranty.RegistrationLink,
        takes={"expires_at": NOON + timedelta(seconds=1)},
        refuses={"expires_at": NOON},
    ),
]
