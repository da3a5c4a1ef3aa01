"""The roof plan, to scale, as seen from above.

The front cap is at the left and the left gutter at the bottom: x runs from the front
cap to the right, y from the left gutter upwards.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from django.utils.safestring import SafeString, mark_safe

from warranty.pages.drawing.film import film_cells, film_patterns
from warranty.pages.drawing.penetrations import penetration_shape
from warranty.pages.drawing.svg import element, text
from warranty.selectors.roof_plan import Plan, PlanFinding, PlanPenetration

PER_M: Final = 100.0  # drawing units in a metre
_LEFT: Final = 30.0
_TOP: Final = 34.0
_BELOW: Final = 88.0
_FT_M: Final = 0.3048  # [m/ft] exact, NIST Handbook 44, appendix C
_NUMBER_FITS_M: Final = 0.3  # a number fits inside a shape this large
_REAR_M: Final = 0.5  # so near the rear cap a number stands before its shape
_WIDE_M: Final = 1.2
_NEAR_M: Final = 0.12  # marks nearer than this are drawn side by side


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """From metres on the roof to units of the drawing."""

    width_m: float

    def x(self, x_m: float) -> float:
        """Return the place of a distance from the front cap."""
        return _LEFT + x_m * PER_M

    def y(self, y_m: float) -> float:
        """Return the place of a distance from the left gutter."""
        return _TOP + (self.width_m - y_m) * PER_M


def plan_svg(plan: Plan) -> SafeString:
    """Return the drawing; the table beside it holds the same facts."""
    scale = Scale(width_m=plan.width_m)
    right = scale.x(plan.length_m) + _LEFT
    bottom = scale.y(0) + _BELOW
    parts = [
        element("title", "Roof plan", id="plan-title"),
        element("desc", _description(plan), id="plan-desc"),
        _defs(plan, scale),
        *_film(plan, scale),
        _outline(plan, scale),
        *(_penetration(each, plan, scale) for each in plan.penetrations),
        *_readings(plan, scale),
        *_findings(plan, scale),
        *_edges(plan, scale),
        *_bars(scale),
    ]
    return mark_safe(  # noqa: S308 - every word passed through svg.text or is ours
        element(
            "svg",
            *parts,
            css="plan",
            viewbox=f"0 0 {right:.0f} {bottom:.0f}",
            role="img",
            aria_labelledby="plan-title plan-desc",
        )
    )


def _description(plan: Plan) -> str:
    drawn = sum(each.x_m is not None for each in plan.findings)
    film = f"film of the {plan.coat} between its readings, " if plan.film else ""
    return (
        f"A roof of {plan.length_m:.2f} by {plan.width_m:.2f} metres, seen from above, "
        f"the front cap at the left: {len(plan.penetrations)} penetrations, {film}"
        f"{drawn} findings. The table below the drawing holds the same facts."
    )


def _defs(plan: Plan, scale: Scale) -> str:
    outline = element(
        "rect",
        x=scale.x(0),
        y=scale.y(plan.width_m),
        width=plan.length_m * PER_M,
        height=plan.width_m * PER_M,
        rx=14,
    )
    clip = element("clipPath", outline, id="roof-outline")
    return element("defs", clip, *film_patterns())


def _outline(plan: Plan, scale: Scale) -> str:
    return element(
        "rect",
        css="plan-outline",
        x=scale.x(0),
        y=scale.y(plan.width_m),
        width=plan.length_m * PER_M,
        height=plan.width_m * PER_M,
        rx=14,
    )


def _film(plan: Plan, scale: Scale) -> list[str]:
    if plan.film is None:
        return []
    cells = film_cells(plan.film, x=scale.x, y=scale.y)
    return [element("g", *cells, css="film-cells", clip_path="url(#roof-outline)")]


def _penetration(each: PlanPenetration, plan: Plan, scale: Scale) -> str:
    x, y = scale.x(each.x_m), scale.y(each.y_m)
    long, wide = each.length_m * PER_M, each.width_m * PER_M
    is_near_the_rear = each.x_m > plan.length_m - _REAR_M
    css = "pen" if each.is_detailed else "pen pen-bare"
    shape = element(
        "g",
        *penetration_shape(each.kind, x=x, y=y, long=long, wide=wide),
        css=css,
    )
    return shape + _number(each, x, y, is_near_the_rear=is_near_the_rear)


def _number(
    each: PlanPenetration, x: float, y: float, *, is_near_the_rear: bool
) -> str:
    words, beside = str(each.number), each.length_m * PER_M / 2 + 5
    if each.width_m > _WIDE_M:  # a seam: its middle is where other things sit
        y -= each.width_m * PER_M / 2 - 24
    if min(each.length_m, each.width_m) >= _NUMBER_FITS_M:
        return text(words, x=x, y=y + 6, css="pen-no", anchor="middle")
    if is_near_the_rear:
        return text(words, x=x - beside, y=y + 6, css="pen-no", anchor="end")
    return text(words, x=x + beside, y=y + 6, css="pen-no")


def _readings(plan: Plan, scale: Scale) -> list[str]:
    places = {(each.x_m, each.y_m) for each in plan.readings}
    return [
        element("circle", css="reading", cx=scale.x(x), cy=scale.y(y), r=4)
        for x, y in sorted((x, y) for x, y in places if x is not None and y is not None)
    ]


def _findings(plan: Plan, scale: Scale) -> list[str]:
    drawn: list[tuple[float, float]] = []
    parts = []
    for each in plan.findings:
        if each.x_m is None or each.y_m is None:
            continue
        beside = sum(
            abs(x - each.x_m) < _NEAR_M and abs(y - each.y_m) < _NEAR_M
            for x, y in drawn
        )
        drawn.append((each.x_m, each.y_m))
        parts.append(_finding(each, scale.x(each.x_m) + 30 * beside, scale.y(each.y_m)))
    return parts


def _finding(each: PlanFinding, x: float, y: float) -> str:
    """Return a pennant with the finding's letter: filled while it is open."""
    css = "finding finding-cured" if each.cured_on else "finding"
    pole = element("path", css="finding-pole", d=f"M{x:.1f} {y:.1f}v-34")
    flag = element("path", css=css, d=f"M{x:.1f} {y - 34:.1f}h26l-6 9 6 9h-26z")
    letter_css = "finding-letter-cured" if each.cured_on else "finding-letter"
    letter = text(each.letter, x=x + 10, y=y - 20, css=letter_css, anchor="middle")
    return pole + flag + letter


def _edges(plan: Plan, scale: Scale) -> list[str]:
    middle = scale.x(plan.length_m / 2)
    left, right = scale.x(0), scale.x(plan.length_m)
    above, below = scale.y(plan.width_m) - 10, scale.y(0) + 22
    return [
        text("front cap", x=left, y=above, css="plan-edge"),
        text("right gutter", x=middle, y=above, css="plan-edge", anchor="middle"),
        text("rear cap", x=right, y=above, css="plan-edge", anchor="end"),
        text("left gutter", x=middle, y=below, css="plan-edge", anchor="middle"),
    ]


def _bars(scale: Scale) -> list[str]:
    top = scale.y(0) + 40
    return [
        *_bar(scale, top, unit_m=1.0, marks=(0, 1, 2, 3), unit="m"),
        *_bar(scale, top + 28, unit_m=_FT_M, marks=(0, 2, 4, 6, 8, 10), unit="ft"),
    ]


def _bar(
    scale: Scale, y: float, *, unit_m: float, marks: tuple[int, ...], unit: str
) -> list[str]:
    end = scale.x(marks[-1] * unit_m)
    parts = []
    for place, (start, stop) in enumerate(pairwise(marks)):
        x, until = scale.x(start * unit_m), scale.x(stop * unit_m)
        css = "bar-dark" if place % 2 == 0 else "bar-light"
        parts.append(element("rect", css=css, x=x, y=y, width=until - x, height=6))
    parts.append(text(f"{marks[-1]} {unit}", x=end + 8, y=y + 9, css="plan-edge"))
    return parts
