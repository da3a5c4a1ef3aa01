"""Whatever a form of the pages does, a program can do: each has its operation."""

from __future__ import annotations

import ast
import inspect
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver

DOCUMENT = Path(settings.BASE_DIR) / "config" / "openapi.json"

# The name of a form's address, and the operation that does the same.
OPERATIONS = {
    "certificate-request": "createRoofCertificate",
    "claim-decide": "decideClaim",
    "claim-doubt": "answerDoubtClaim",
    "claim-close": "closeClaim",
    "claim-withdraw": "withdrawClaim",
    "claim-reopen": "reopenClaim",
    "claim-wait": "waitClaim",
    "claim-resume": "resumeClaim",
    "claim-packet-request": "createClaimPacket",
    "claim-remedy": "remedyClaim",
    "claim-second": "secondClaim",
    "edition-change": "reviseEdition",
    "edition-draft": "createEdition",
    "edition-publish": "publishEdition",
    "field-booking-cancel": "cancelBooking",
    "field-bookings": "createBooking",
    "field-device-revoke": "revokeFieldDevice",
    "field-devices": "createCodePairingCode",
    "field-review-settle": "settleFieldReview",
    "what-if-request": "createWhatIf",
}
# Who signs in with a form, a program does with each request; and what is no form.
NOT_OF_RECORDS = {
    "sign-in": "a program signs in with each request",
    "sign-out": "a program that sends nothing is signed out",
}
PAGE_ROOMS = ("fleet.pages", "warranty.pages", "jobs.pages", "django.contrib.auth")


def page_routes(patterns=None) -> Iterator[URLPattern]:
    for each in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(each, URLResolver):
            yield from page_routes(each.url_patterns)
        elif room_of(each).startswith(PAGE_ROOMS):
            yield each


def room_of(route: URLPattern) -> str:
    view = getattr(route.callback, "view_class", route.callback)
    return str(view.__module__)


def takes_post(route: URLPattern) -> bool:
    """Ask the view itself: a page that takes no form answers 405."""
    view_class = getattr(route.callback, "view_class", None)
    if view_class is not None:
        return hasattr(view_class, "post")
    inner = inspect.unwrap(route.callback)
    allowed = _methods(route.callback)
    if allowed is not None and "POST" not in allowed:
        return False
    tree = ast.parse(inspect.getsource(inspect.getmodule(inner)))
    [function] = [
        each
        for each in ast.walk(tree)
        if isinstance(each, ast.FunctionDef) and each.name == inner.__name__
    ]
    return allowed == ["POST"] or "POST" in ast.dump(function)


def _methods(view) -> list[str] | None:
    """Return what require_http_methods around a view lets in; None: it is not there."""
    while view is not None:
        names = view.__code__.co_freevars if hasattr(view, "__code__") else ()
        if "request_method_list" in names:
            cell = view.__closure__[names.index("request_method_list")]
            return list(cell.cell_contents)
        view = getattr(view, "__wrapped__", None)
    return None


def forms() -> list[str]:
    return sorted(str(route.name) for route in page_routes() if takes_post(route))


def operations() -> set[str]:
    document = json.loads(DOCUMENT.read_text())
    return {
        operation["operationId"]
        for path in document["paths"].values()
        for operation in path.values()
    }


def test_there_are_forms_to_look_at():
    assert len(forms()) >= len(OPERATIONS)


@pytest.mark.parametrize("name", forms())
def test_every_form_has_its_operation(name):
    assert (name in OPERATIONS) != (name in NOT_OF_RECORDS), (
        f"The form {name} can do what no program can. Add the operation, then map it."
    )


def test_the_map_names_only_forms_and_operations_there_are():
    mapped = OPERATIONS.keys() | NOT_OF_RECORDS.keys()
    named = set(OPERATIONS.values())

    assert mapped - set(forms()) == set()
    assert named - operations() == set()


def test_a_page_that_says_it_takes_no_form_takes_none(db):
    """Hold what is read from the code against what the views answer."""
    quiet = [
        r for r in page_routes() if not takes_post(r) and "<" not in str(r.pattern)
    ]
    client = Client(raise_request_exception=False)

    for route in quiet:
        response = client.post(f"/{route.pattern}")
        assert response.status_code in {302, 404, 405}, route
