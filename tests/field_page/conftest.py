"""The field page's own arithmetic in a real browser, without a server."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, Route, sync_playwright

from tests.services import CHROMIUM

FILES = Path(__file__).resolve().parents[2] / "config" / "static" / "field"
ORIGIN = "http://field.invalid"  # no such host: every request is answered from here
ARGUMENTS = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run"]

Ask = Callable[..., Any]


@pytest.fixture(scope="module")
def empty_page() -> Iterator[Page]:
    path = next(filter(None, (shutil.which(name) for name in CHROMIUM)), None)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        page = browser.new_page()
        page.route("**/*", _from_folder)
        page.goto(f"{ORIGIN}/")
        yield page
        browser.close()


def _from_folder(route: Route) -> None:
    name = route.request.url.removeprefix(f"{ORIGIN}/")
    if name:
        route.fulfill(path=FILES / name, content_type="text/javascript")
    else:
        route.fulfill(body="<!doctype html><title>empty</title>")


@pytest.fixture
def ask(empty_page) -> Ask:
    """Return a function that calls an exported function of one module."""

    def called(module: str, name: str, *arguments: object) -> Any:
        answer = empty_page.evaluate(
            """async ([module, name, told]) => {
                const found = (await import(`/${module}`))[name];
                const answer = typeof found === "function" ? found(...told) : found;
                return JSON.stringify(answer, (_, value) =>
                    typeof value === "number" && !Number.isFinite(value)
                        ? String(value) : value);
            }""",
            [module, name, list(arguments)],
        )
        return json.loads(answer)

    return called
