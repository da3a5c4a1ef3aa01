"""The register's own marks. A word always stands beside a mark.

A standing's mark is a coach roof in section: the thin arch is the roof, the thick line
over it is the film, and what has become of the film is what the promise is worth.
"""

from __future__ import annotations

from typing import Final

from django.utils.safestring import SafeString, mark_safe

_ROOF: Final = '<path class="mark-roof" d="M3 19V14Q16 8 29 14V19"/>'
_FILM_OF_STANDING: Final[dict[str, str]] = {
    # Not laid yet: a row of dots where the film will be.
    "PENDING": '<path class="mark-film mark-dots" d="M3 9Q16 3 29 9"/>',
    # Laid, whole, from cap to cap.
    "IN_FORCE": '<path class="mark-film" d="M3 9Q16 3 29 9"/>',
    # Laid, with a break in it.
    "AT_RISK": (
        '<path class="mark-film" d="M3 9Q10 5.7 17 6"/>'
        '<path class="mark-film" d="M23.5 7Q26.5 7.8 29 9"/>'
    ),
    # Lifted off at one end.
    "SUSPENDED": '<path class="mark-film" d="M3 9Q14 4 27 1.5"/>',
    # Gone, and the roof is closed off by a bar.
    "ENDED": '<path class="mark-film" d="M3 22H29"/>',
}
_VERDICT: Final[dict[str, str]] = {
    "MET": '<path d="M3 9l4 4 7-9"/>',
    "NOT_MET": '<path d="M4 4l9 9M13 4l-9 9"/>',
    "UNKNOWN": '<path class="mark-dots" d="M2.5 8.5h12"/>',
}


def standing_mark(word: str) -> SafeString:
    """Return the mark of a standing, hidden from readers of words."""
    film = _FILM_OF_STANDING.get(word, "")
    return _mark("0 0 32 24", "mark mark-standing", _ROOF + film)


def verdict_mark(verdict: str) -> SafeString:
    """Return the mark of a verdict, hidden from readers of words."""
    return _mark("0 0 17 17", "mark mark-verdict", _VERDICT.get(verdict, ""))


def _mark(view_box: str, css_class: str, inner: str) -> SafeString:
    return mark_safe(  # noqa: S308 - constants of this module
        f'<svg class="{css_class}" viewBox="{view_box}" aria-hidden="true" '
        f'focusable="false">{inner}</svg>'
    )
