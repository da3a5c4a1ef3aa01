"""Write SVG elements: attributes escaped, numbers short."""

from __future__ import annotations

from django.utils.html import escape

Attribute = str | float | int | None


def number(value: float) -> str:
    """Return a coordinate with one decimal at most."""
    return f"{value:.1f}".removesuffix(".0")


def element(name: str, *inner: str, **attributes: Attribute) -> str:
    """Return one element. ``css`` is its class; an underscore is a hyphen."""
    written = "".join(
        f' {_name(key)}="{escape(_value(value))}"'
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{written}>{''.join(inner)}</{name}>"


def text(words: str, *, x: float, y: float, css: str, anchor: str = "start") -> str:
    """Return a text element with escaped words."""
    return element("text", escape(words), x=x, y=y, css=css, text_anchor=anchor)


_CAMEL = {
    "css": "class",
    "viewbox": "viewBox",
    "pattern_units": "patternUnits",
}


def _name(key: str) -> str:
    return _CAMEL.get(key) or key.replace("_", "-")


def _value(value: Attribute) -> str:
    return value if isinstance(value, str) else number(float(value or 0))
