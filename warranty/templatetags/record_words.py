"""How records are worded on pages: dates, instants, measures, marks."""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from django import template
from django.conf import settings
from django.utils.html import escape, format_html
from django.utils.safestring import SafeString, mark_safe

from fleet.film.units import c_from_f_difference
from warranty.documents import wording
from warranty.pages.drawing.marks import standing_mark, verdict_mark

register = template.Library()

register.filter("on", wording.on)
register.filter("mil", wording.mil_and_um)
register.filter("metres", wording.m_and_ft)
register.filter("litres", wording.litres_and_gal)
register.filter("readable", wording.readable)
register.filter("standing_word", wording.standing_word)
register.filter("verdict_word", wording.verdict_word)
register.simple_tag(standing_mark)
register.simple_tag(verdict_mark)
register.simple_tag(wording.money)

_F_PER_K = 1 / c_from_f_difference(1.0)
_ISO_DAY = re.compile(r"\b(\d{4})-(\d{2})-(\d{2})\b")


@register.filter
def at(moment: datetime | None) -> str:
    """Return an instant in the office's time, e.g. ``8 April 2026, 14:03 (EDT)``."""
    if moment is None:
        return wording.NOT_RECORDED
    local = moment.astimezone(ZoneInfo(settings.OFFICE_TIME_ZONE))
    return f"{wording.on(local.date())}, {local:%H:%M} ({local:%Z})"


@register.filter
def own_time(moment: datetime) -> str:
    """Return an instant in the offset it carries."""
    return wording.at(moment)


@register.filter
def day(value: date | None) -> SafeString | str:
    """Return a date as an element that programs can read too; a dash for none."""
    if value is None:
        return "—"
    return format_html(
        '<time datetime="{}">{}</time>', value.isoformat(), wording.on(value)
    )


@register.filter
def dated(text: str) -> SafeString:
    """Return a sentence with its dates in words."""
    # Escaping touches no digit and no hyphen, so the dates are found in what is safe.
    return mark_safe(_ISO_DAY.sub(_in_words, escape(text)))  # noqa: S308 - escaped


def _in_words(found: re.Match[str]) -> str:
    try:
        return str(day(date.fromisoformat(found.group())))
    except ValueError:  # digits that only look like a date
        return found.group()


@register.filter
def celsius(value: float | Decimal | None) -> str:
    """Return a temperature in both units."""
    if value is None:
        return "—"
    fahrenheit = float(value) * _F_PER_K + 32
    return f"{wording.number(float(value))} °C ({wording.number(fahrenheit, 0)} °F)"


@register.filter
def kelvins(value: float | Decimal | None) -> str:
    """Return a difference of temperatures in both units."""
    if value is None:
        return "—"
    fahrenheit = wording.number(float(value) * _F_PER_K)
    return f"{wording.number(float(value))} °C ({fahrenheit} °F)"


@register.filter
def share(ratio: float | Decimal | None) -> str:
    """Return a share of one in per cent."""
    return "—" if ratio is None else f"{ratio:.0%}"


@register.filter
def sentence_case(text: str) -> str:
    """Return a text with a capital at its start and the rest untouched."""
    return text[:1].upper() + text[1:]
