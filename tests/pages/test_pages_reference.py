"""The API's reference: made from the document, readable on a phone, no inline code."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.conf import settings

DOCUMENT = json.loads((Path(settings.BASE_DIR) / "config" / "openapi.json").read_text())
OPERATIONS = [
    (told["operationId"], method.upper(), path, told)
    for path, methods in DOCUMENT["paths"].items()
    for method, told in methods.items()
]

pytestmark = pytest.mark.django_db


class Tags(HTMLParser):
    """What a page is made of."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, dict(attrs)))


def tags(text: str) -> list[tuple[str, dict[str, str | None]]]:
    parser = Tags()
    parser.feed(text)
    return parser.found


def test_the_index_leads_to_every_operation(client):
    page = client.get("/reference/").content.decode()

    linked = set(re.findall(r'href="/reference/(\w+)"', page))
    assert linked == {name for name, *_ in OPERATIONS}


@pytest.mark.slow
def test_every_operation_is_shown_with_all_that_it_takes_and_answers(client):
    for name, method, path, told in OPERATIONS:
        response = client.get(f"/reference/{name}")

        assert response.status_code == 200
        page = response.content.decode()
        assert f"{method} {path}" in page
        for parameter in told.get("parameters", ()):
            assert f"<code>{parameter['name']}</code>" in page
        for status in set(told["responses"]) - {"default"}:
            assert re.search(rf"<h3>{status}\b", page), (name, status)


def test_an_unknown_operation_is_missing(client):
    assert client.get("/reference/launchRocket").status_code == 404


@pytest.mark.parametrize("address", ["/reference/", "/reference/createCoach"])
def test_it_carries_no_code_of_its_own_and_nothing_of_others(client, address):
    response = client.get(address)

    policy = response.headers["Content-Security-Policy"]
    assert "'unsafe-inline'" not in policy
    assert "script-src 'self'" in policy
    for tag, attributes in tags(response.content.decode()):
        assert tag != "style"
        assert "style" not in attributes
        assert not [name for name in attributes if name.startswith("on")]
        for name in ("src", "href"):
            address_of = attributes.get(name) or ""
            assert not address_of.startswith(("http:", "https:", "//"))
        if tag == "script":
            assert attributes.get("src")


def test_an_example_of_the_invented_fleet_is_shown(client):
    page = client.get("/reference/createCoach").content.decode()

    assert "HL-0042" in page
    assert "Mill Narrows" in page
