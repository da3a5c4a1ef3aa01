"""Take the README's pictures from a running demo.

.venv/bin/python tools/pictures.py http://127.0.0.1:8000 office PASSWORD
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
DOCS = Path(__file__).resolve().parent.parent / "docs"
SHEET_PAGES = (1, 3, 7)


def main(address: str, name: str, password: str) -> None:
    """Sign in, look at a roof in its grace, and save what is seen."""
    DOCS.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page(viewport={"width": 1180, "height": 1500})
        page.goto(address)
        page.fill("input[name=username]", name)
        page.fill("input[name=password]", password)
        page.click("button[type=submit]")
        page.goto(f"{address}/roofs/?standing=AT_RISK")
        page.click("main table a")
        page.wait_for_load_state()
        page.screenshot(path=DOCS / "roof.png")
        save_packet(page, address)
        browser.close()


def save_packet(page: Page, address: str) -> None:
    """Find a packet that the demo has made and lay some of its pages side by side."""
    claims = page.request.get(f"{address}/api/v1/claims?page_size=200").json()
    for claim in claims["results"]:
        packets = page.request.get(f"{address}/api/v1/claims/{claim['uuid']}/packets")
        for packet in packets.json()["results"]:
            content = page.request.get(
                f"{address}/api/v1/packets/{packet['uuid']}/content"
            )
            lay_side_by_side(content.body())
            return
    raise SystemExit("No claim has a packet yet: wait for the runner, or ask for one.")


def lay_side_by_side(pdf: bytes) -> None:
    """Draw the chosen pages of a packet into one picture."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "packet.pdf"
        path.write_bytes(pdf)
        pages = []
        for number in SHEET_PAGES:
            stem = Path(folder) / f"page-{number}"
            subprocess.run(  # noqa: S603 - fixed program, own file
                [
                    "/usr/bin/pdftoppm",
                    "-r",
                    "70",
                    "-png",
                    "-singlefile",
                    "-f",
                    str(number),
                    "-l",
                    str(number),
                    str(path),
                    str(stem),
                ],
                check=True,
            )
            pages.append(Image.open(stem.with_suffix(".png")))
        width = sum(page.width for page in pages) + 12 * (len(pages) + 1)
        height = max(page.height for page in pages) + 24
        sheet = Image.new("RGB", (width, height), "#8a8f8d")
        left = 12
        for page in pages:
            sheet.paste(page, (left, 12))
            left += page.width + 12
        sheet.save(DOCS / "packet.png", optimize=True)


if __name__ == "__main__":
    main(*sys.argv[1:4])
