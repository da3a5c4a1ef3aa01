"""What a technician taps, in words: the page is driven as a person would."""

from __future__ import annotations

import base64
import json
from hashlib import sha256
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Download, Page, expect

# Bytes that differ from photo to photo, and are real pictures.
PHOTO_SIZE = (320, 240)


def begin(page: Page, kind: str) -> None:
    page.get_by_role("link", name=f"HL-7001 {kind}").click()
    page.get_by_role("link", name=f"Begin: {kind}").click()
    if kind == "Installation":
        page.get_by_text("Two coats over membrane").click()
        page.get_by_text("EPDM rubber").click()
    page.get_by_role("button", name=f"Begin: {kind}").click()
    expect(page.get_by_role("heading", name="Stages")).to_be_visible()


def open_stage(page: Page, name: str) -> None:
    page.get_by_role("list").get_by_role("link", name=name).click()
    expect(page.get_by_role("heading", name=name, level=1)).to_be_visible()
    read = page.get_by_role("button", name="I have read this")
    if read.is_visible():
        read.click()
        expect(read).to_be_hidden()


def answer_all(page: Page, word: str = "Yes") -> None:
    groups = page.locator(".question")
    for index in range(groups.count()):
        key = groups.nth(index).get_by_role("button", name=word, exact=True)
        key.click()
        expect(
            page.locator(".question").nth(index).get_by_role("button", name=word)
        ).to_have_attribute("aria-pressed", "true")


def pass_hold(page: Page) -> None:
    page.get_by_role("button", name="Pass the hold point").click()
    expect(page.locator(".hold-passed")).to_be_visible()


def back(page: Page) -> None:
    title = page.title()
    page.locator("a.up").click()
    expect(page).not_to_have_title(title)


def write_down(page: Page, tool: str) -> None:
    page.get_by_role("link", name=tool, exact=True).click()
    expect(page.get_by_role("heading", name=tool, level=1)).to_be_visible()


def climate(
    page: Page, *, coat: str, air: str = "72", surface: str = "84", rh: str = "48"
) -> None:
    write_down(page, "Climate")
    page.get_by_text(coat, exact=True).click()
    page.get_by_label("Air, °F").fill(air)
    page.get_by_label("Roof surface, °F").fill(surface)
    page.get_by_label("Humidity, %").fill(rh)
    before = page.locator(".plain li").count()
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.locator(".plain li")).to_have_count(before + 1)
    back(page)


def lot(page: Page, *, coat: str, name: str, gallons: str) -> None:
    write_down(page, "Lots and volumes")
    page.get_by_text(coat, exact=True).click()
    page.get_by_label("Lot on the label").fill(name)
    page.get_by_label("Volume used").fill(gallons)
    before = page.locator(".plain li").count()
    page.get_by_role("button", name="Keep", exact=True).click()
    expect(page.locator(".plain li")).to_have_count(before + 1)
    back(page)


def film(page: Page, *, coat: str, wet: list[int]) -> None:
    """Read a coat tooth by tooth; the first dry tooth is always the next key."""
    page.get_by_role("link", name="Film", exact=True).click()
    page.get_by_role("link", name=coat, exact=True).click()
    asked = page.locator(".pad-head strong")
    for tooth in wet:
        tap(page, tooth)
        expect(asked).to_have_text("First dry tooth")
        tap(page, tooth + 2)
        expect(asked).to_have_text("Last wet tooth")
    back(page)


def tap(page: Page, tooth: int) -> None:
    page.locator(".teeth").get_by_role("button", name=str(tooth), exact=True).click()


def picture(folder: Path, number: int) -> Path:
    """A JPEG that no other number has."""
    path = folder / f"photo-{number}.jpg"
    Image.new("RGB", PHOTO_SIZE, (number * 9 % 256, number * 5 % 256, 90)).save(path)
    return path


def photo(page: Page, path: Path, *, of: str = "", after: bool = False) -> None:
    """Take one photo on the photos page."""
    page.get_by_text("After" if after else "Before", exact=True).click()
    if of:
        page.locator("fieldset").get_by_text(of).click()
    before = page.locator(".photos li").count()
    page.locator("#camera").set_input_files(path)
    expect(page.locator(".photos li")).to_have_count(before + 1)


def make_safe(page: Page) -> None:
    """Pass the first hold point, with the weather it asks for."""
    open_stage(page, "Make safe, go up")
    answer_all(page)
    back(page)
    climate(page, coat="base coat")
    open_stage(page, "Make safe, go up")
    pass_hold(page)
    back(page)


def detail_every_seal(page: Page, number: int) -> None:
    write_down(page, "Penetrations")
    for done in range(number):
        page.get_by_role("button", name="Mark as detailed").first.click()
        expect(page.locator(".seals .done")).to_have_count(done + 1)
    back(page)


def draw_signature(page: Page) -> None:
    """Draw with a pressed pointer, as a finger does."""
    pad = page.get_by_role("img", name="Sign here with a finger")
    pad.scroll_into_view_if_needed()
    box = pad.bounding_box()
    assert box is not None
    x, y = box["x"], box["y"] + box["height"] / 2
    page.mouse.move(x + 40, y)
    page.mouse.down()
    for step in range(1, 8):
        page.mouse.move(x + 40 + step * 30, y + (20 if step % 2 else -20))
    page.mouse.up()


def saved_file(download: Download, folder: Path) -> dict[str, Any]:
    path = folder / "saved.json"
    download.save_as(path)
    saved: dict[str, Any] = json.loads(path.read_text())
    return saved


def hash_of(text: str) -> str:
    return sha256(text.encode()).hexdigest()


def hash_of_photo(one: dict[str, str]) -> str:
    return sha256(base64.b64decode(one["base64"])).hexdigest()
