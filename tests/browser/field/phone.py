"""A phone on a roof: one Chromium profile that outlives its browser."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import time
from dataclasses import dataclass, field
from pathlib import Path

from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Error,
    Page,
    Playwright,
    expect,
)

from tests.browser.conftest import ARGUMENTS, PHONE
from tests.services import CHROMIUM, free_port

# What a browser says of every request that nobody answers, or that is refused.
NETWORK = "Failed to load resource"
START_S = 60
PATIENCE_MS = 30_000  # two cores, shared
expect.set_options(timeout=PATIENCE_MS)


@dataclass  # no slots: Playwright hangs a note on the object that listens
class Phone:
    """One person's phone. `kill` is what an empty battery does."""

    playwright: Playwright
    profile: Path
    base: str
    language: str = "en-US"
    complaints: list[str] = field(default_factory=list)
    network_errors: list[str] = field(default_factory=list)
    _process: subprocess.Popen[bytes] | None = None
    _browser: Browser | None = None

    def start(self) -> Page:
        port = free_port()
        path = next(filter(None, (shutil.which(name) for name in CHROMIUM)))
        self._process = subprocess.Popen(  # noqa: S603 - the browser that is tested
            [
                path,
                *ARGUMENTS,
                f"--user-data-dir={self.profile}",
                f"--remote-debugging-port={port}",
                f"--lang={self.language}",
                f"--accept-lang={self.language}",
                "about:blank",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        self._browser = self._connected(port)
        return self.new_tab(self.context.pages[0])

    def _connected(self, port: int) -> Browser:
        deadline_s = time.monotonic() + START_S
        while True:
            try:
                return self.playwright.chromium.connect_over_cdp(
                    f"http://127.0.0.1:{port}"
                )
            except Error:
                if time.monotonic() > deadline_s:
                    raise
                time.sleep(0.1)

    @property
    def context(self) -> BrowserContext:
        assert self._browser is not None
        return self._browser.contexts[0]

    def new_tab(self, page: Page | None = None) -> Page:
        page = page or self.context.new_page()
        page.set_viewport_size({"width": PHONE[0], "height": PHONE[1]})
        page.set_default_timeout(PATIENCE_MS)
        page.on("console", self._keep)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        return page

    def _keep(self, message: ConsoleMessage) -> None:
        if message.type not in {"error", "warning"}:
            return
        kept = self.network_errors if NETWORK in message.text else self.complaints
        kept.append(message.text)

    def wait_until_it_stays_paired(self) -> None:
        """Wait for the cookie to reach the disk, which a browser puts off by 30 s."""
        deadline_s = time.monotonic() + 90
        while time.monotonic() < deadline_s:
            files = self.profile.glob("Default/**/Cookies*")
            if any(b"field_device" in file.read_bytes() for file in files):
                return
            time.sleep(0.5)
        raise TimeoutError("the browser never wrote its cookie")

    def kill(self) -> None:
        """End the browser at once: nothing gets a chance to save."""
        if self._process is None:
            return
        os.killpg(self._process.pid, signal.SIGKILL)
        self._process.wait(timeout=10)
        self._process, self._browser = None, None

    def open(self, page: Page, path: str = "/field/") -> None:
        page.goto(f"{self.base}{path}")
        expect(page.locator("h1")).not_to_have_text("Roof Register")

    def pair(self, page: Page, code: str) -> None:
        self.open(page)
        page.get_by_label("Code from the office").fill(code)
        page.get_by_label("Name of this phone").fill("Grey phone")
        page.get_by_role("button", name="Pair", exact=True).click()
        expect(page.get_by_role("heading", name="Your work")).to_be_visible()
        expect(page.get_by_text("List from")).to_be_visible()


def wait_for_shell(page: Page) -> None:
    """Wait until the worker keeps the whole page."""
    is_kept = page.evaluate(
        """(most) => Promise.race([
            navigator.serviceWorker.ready.then(() => true),
            new Promise((end) => setTimeout(() => end(false), most)),
        ])""",
        PATIENCE_MS,
    )
    assert is_kept, "the worker did not keep the page: did a file change meanwhile?"
