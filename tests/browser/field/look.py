"""Measured in the page: contrast of its words, size of what is tapped."""

from __future__ import annotations

from playwright.sync_api import Page

# WCAG 2.x relative luminance and contrast ratio, from the styles that apply.
_CONTRAST = """() => {
    const rgb = (text) => text.match(/[\\d.]+/g).map(Number);
    const part = (v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
    const light = ([r, g, b]) =>
        0.2126 * part(r / 255) + 0.7152 * part(g / 255) + 0.0722 * part(b / 255);
    const ground = (element) => {
        for (let at = element; at; at = at.parentElement) {
            const colour = rgb(getComputedStyle(at).backgroundColor);
            if (colour.length < 4 || colour[3] === 1) return colour;
        }
        return [255, 255, 255];
    };
    const poor = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    let seen = 0;
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
        const words = node.textContent.trim();
        const element = node.parentElement;
        if (!words || !element.checkVisibility() || element.closest("svg")) continue;
        const [a, b] = [rgb(getComputedStyle(element).color), ground(element)]
            .map(light).sort((x, y) => y - x);
        seen += 1;
        const ratio = (a + 0.05) / (b + 0.05);
        if (ratio < 7) poor.push(`${words}: ${ratio.toFixed(2)}`);
    }
    return { seen, poor };
}"""

_SMALL = """() => {
    const small = [];
    const all = document.querySelectorAll(
        "a, button, summary, textarea, input:not([type=radio], [type=file]), .pick");
    for (const element of all) {
        if (!element.checkVisibility()) continue;
        const box = element.getBoundingClientRect();
        if (box.width < 44 || box.height < 44) {
            const words = element.textContent.trim() || element.name;
            const size = [box.width, box.height].map(Math.round).join(" x ");
            small.push(`${words}: ${size}`);
        }
    }
    return small;
}"""


def poor_contrasts(page: Page) -> list[str]:
    """Return the words on the page whose contrast is below 7 to 1."""
    found = page.evaluate(_CONTRAST)
    assert found["seen"] > 3, "no words were measured"
    poor: list[str] = found["poor"]
    return poor


def small_targets(page: Page) -> list[str]:
    """Return what is tapped and smaller than 44 by 44 px."""
    small: list[str] = page.evaluate(_SMALL)
    return small


def is_wider_than_the_phone(page: Page) -> bool:
    return bool(
        page.evaluate("document.documentElement.scrollWidth > window.innerWidth")
    )
