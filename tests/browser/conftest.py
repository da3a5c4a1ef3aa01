"""A real browser before a real server, with every complaint of the browser kept."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime

import pytest
from django.test import Client, override_settings
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright

from fleet.models import Roof, User
from tests import builders
from tests.services import CHROMIUM

ARGUMENTS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PASSWORD = "seven gulls on a rail"
DESKTOP = (1280, 900)
PHONE = (390, 844)
# The builders' roof was completed on 5 May 2026: a year later its first inspection
# is due, and sixty days of grace run.
IN_GRACE = datetime.fromisoformat("2027-05-20T16:00:00+00:00")


@dataclass  # no slots: Playwright hangs a note on the object that listens
class Visitor:
    """One person at one browser window."""

    page: Page
    base: str
    complaints: list[str] = field(default_factory=list)

    def listen(self) -> None:
        self.page.on("console", self._keep)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _keep(self, message: ConsoleMessage) -> None:
        # A breach of the content security policy is such an error, too.
        if message.type in {"error", "warning"}:
            self.complaints.append(message.text)

    def open(self, path: str) -> None:
        self.page.goto(f"{self.base}{path}")

    def is_wider_than_the_window(self) -> bool:
        return bool(
            self.page.evaluate(
                "document.documentElement.scrollWidth > window.innerWidth"
            )
        )


@pytest.fixture(scope="session", autouse=True)
def files_without_a_deployment() -> Iterator[None]:
    """The server starts before any test's settings: it needs its own."""
    with override_settings(WHITENOISE_AUTOREFRESH=True):
        yield


@pytest.fixture
def grace(monkeypatch) -> None:
    """Have every page be asked while the roof is in its grace."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: IN_GRACE)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = next(filter(None, (shutil.which(name) for name in CHROMIUM)), None)
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # Playwright keeps a loop in this thread, where Django would refuse to query.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        chromium = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture
def visitor_at(browser, live_server):
    """Return a function that opens a window and closes it after the test."""
    contexts = []

    def opened(
        size: tuple[int, int] = DESKTOP,
        *,
        scheme: str = "light",
        has_scripts: bool = True,
        user: User | None = None,
    ) -> Visitor:
        context = browser.new_context(
            viewport={"width": size[0], "height": size[1]},
            color_scheme=scheme,
            java_script_enabled=has_scripts,
        )
        contexts.append(context)
        if user is not None:
            client = Client()
            client.force_login(user)
            session = client.cookies["sessionid"].value
            cookie = {"name": "sessionid", "value": session, "url": live_server.url}
            context.add_cookies([cookie])
        visitor = Visitor(page=context.new_page(), base=live_server.url)
        visitor.listen()
        return visitor

    yield opened
    for context in contexts:
        context.close()


@pytest.fixture
def office(grace, browser, transactional_db) -> User:
    user = builders.office()
    user.set_password(PASSWORD)
    user.save(update_fields=["password"])
    return user


@pytest.fixture
def roof(office) -> Roof:
    coach = builders.make_coach(
        unit_no="HL-7001",
        described=builders.make_description(
            vin="1Z9ES8848DBR07001", town="Gull Prairie"
        ),
    )
    promised = builders.make_promised_roof(coach=coach)
    builders.make_claim(promised)
    builders.make_promised_roof()
    return promised
