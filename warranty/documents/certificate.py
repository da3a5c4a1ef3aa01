"""The certificate: nineteen items in the order of the warranty-law checklist.

The texts are the edition's own, printed as they were published. Local law governs.

References
----------
.. [1] 16 CFR 701.3 (what one document has to say), 701.4 (registration).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from reportlab.platypus import CondPageBreak, Table

from warranty.documents import style, wording
from warranty.documents.binder import BASE_FONT, Binder, Column, Section
from warranty.documents.certificate_facts import CertificateFacts
from warranty.documents.code_drawing import code_drawing
from warranty.documents.facts import FilmCoatFacts
from warranty.documents.plan_drawing import roof_plan_drawing
from warranty.documents.press import PageNumbers, RunningLines, press
from warranty.documents.roof_pages import BORROWED_RULE_SENTENCE
from warranty.documents.text import Mono, P, Strong, Words

NOT_STATED: Final = "This edition does not say."
NO_LIMIT: Final = "This edition sets no such limit."
LOCAL_LAW: Final = (
    "Local law governs; nothing here limits rights that cannot be waived."
)
_CODE_PT: Final = 92.0
_ROOM_FOR_AN_ITEM: Final = 62.0
_M2_PER_FT2: Final = wording.M_PER_FT**2


def certificate_pdf(facts: CertificateFacts) -> bytes:
    """Return the certificate as a PDF file; equal facts give equal bytes.

    Parameters
    ----------
    facts : CertificateFacts
        Everything to print, already computed.
    """

    def bind(_pages: PageNumbers) -> Binder:
        return _bound(facts)

    return press(bind, _running_lines(facts))


def _running_lines(facts: CertificateFacts) -> RunningLines:
    name = "Preview of a draft" if facts.is_preview else f"Certificate {facts.number}"
    return RunningLines(
        title=f"{name}, coach {facts.coach.unit_no}",
        subject=f"{facts.edition.title}, edition {facts.edition.code}",
        author=facts.company.name,
        head_left=name,
        head_right=facts.company.name,
        foot_left=f"Edition {facts.edition.code}, content {facts.content_sha256[:16]}",
        generated_at=facts.known_at,
    )


def _bound(facts: CertificateFacts) -> Binder:
    binder = Binder()
    _add_face(binder, facts)
    for title, add in _ITEMS:
        _item(binder, title)
        add(binder, facts)
    binder.add_long_entries()
    return binder


def _item(binder: Binder, title: str) -> None:
    order = len(binder.sections) + 1
    section = Section(key=f"item-{order}", title=f"{order}. {title}")
    binder.sections.append(section)
    binder.story.append(CondPageBreak(_ROOM_FOR_AN_ITEM))
    heading = P(section.title, style.SUBHEADING)
    heading.packet_section = section
    binder.story.append(heading)


def _add_face(binder: Binder, facts: CertificateFacts) -> None:
    binder.remark(facts.company.name, style.COMPANY)
    if facts.is_preview:
        binder.body(
            Strong("Preview of a draft. This is no certificate and promises nothing.")
        )
    title = [
        binder.cell(facts.edition.title, style.TITLE),
        binder.cell(_one_line(facts), style.SUBTITLE),
        binder.cell((Strong("Certificate "), Mono(facts.number)), style.LEAD),
        P(f"Issued {wording.on(facts.issued_on)}", style.LEAD),
        binder.cell(facts.public_url, style.NOTE),
    ]
    code = code_drawing(facts.public_url, side_pt=_CODE_PT)
    left = style.TEXT_WIDTH - _CODE_PT - 12
    binder.story.append(
        Table(
            [[title, code]],
            colWidths=[left, _CODE_PT + 12],
            style=[
                BASE_FONT,
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (0, 0), 10),
                ("RIGHTPADDING", (1, 0), (1, 0), 0),
                ("ALIGN", (1, 0), (1, 0), "RIGHT"),
                ("LINEBELOW", (0, 0), (-1, -1), 1, style.RULE_STRONG),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 8),
            ],
        )
    )
    binder.note(
        "The code and the address lead to a page that confirms this number, its edition"
        " and what the promise is worth on the day it is asked. It shows no personal"
        " data."
    )


def _one_line(facts: CertificateFacts) -> str:
    coach = facts.coach
    year = f"{coach.year} " if coach.year is not None else ""
    return f"Coach {coach.unit_no}: {year}{coach.make} {coach.model}".rstrip()


def _said(text: str, missing: str = NOT_STATED) -> str:
    return text.strip() or missing


def _paragraphs(binder: Binder, text: str) -> None:
    """Add the edition's own text; it is never cut."""
    for part in text.replace("\r\n", "\n").split("\n"):
        if part.strip():
            binder.body(part)


def _title(binder: Binder, facts: CertificateFacts) -> None:
    binder.body(
        (
            Strong(f"{facts.wording.kind} warranty"),
            f", {_duration(facts)}. {facts.edition.title}.",
        )
    )


def _duration(facts: CertificateFacts) -> str:
    term = facts.edition.term_months
    if term is None:
        return f"for the life of the {facts.wording.life_of}"
    if term % 12 == 0:
        years = term // 12
        return f"{years} {'year' if years == 1 else 'years'}"
    return f"{term} months"


def _warrantor(binder: Binder, facts: CertificateFacts) -> None:
    company = facts.company
    rows = [
        ("Name", company.name),
        ("Address", ", ".join(company.address_lines)),
        ("Phone", company.phone),
        ("Mail", company.email),
    ]
    binder.facts([(name, value) for name, value in rows if value], share=0.2)


def _owner(binder: Binder, facts: CertificateFacts) -> None:
    holder = facts.holder
    name = f"{holder.name} ({holder.kind})" if holder.name else wording.NOT_RECORDED
    binder.facts(
        (("Holder", name), ("Passing it on", _transfer_rule(facts))), share=0.2
    )
    if facts.wording.covered_owner.strip():
        _paragraphs(binder, facts.wording.covered_owner)


def _transfer_rule(facts: CertificateFacts) -> str:
    said = facts.wording
    if not said.is_transferable:
        return "The promise does not pass to a later holder."
    parts = [
        f"The promise passes to a later holder who is a {facts.edition.owner_kind}"
    ]
    if said.transfer_notice_days is not None:
        parts.append(f"told to us within {said.transfer_notice_days} days of the sale")
    if said.transfer_needs_inspection:
        parts.append("after a passing inspection")
    return ", ".join(parts) + "."


def _coach(binder: Binder, facts: CertificateFacts) -> None:
    coach = facts.coach
    square_feet = facts.area_m2 / _M2_PER_FT2
    binder.facts(
        (
            ("Coach no.", coach.unit_no),
            ("VIN", coach.vin or wording.NOT_RECORDED),
            (
                "Coach",
                f"{_one_line(facts).split(': ', 1)[1]}, {coach.body}".rstrip(", "),
            ),
            (
                "Roof",
                (
                    f"roof {facts.roof.roof_no}, whole outline,"
                    f" {wording.m_and_ft(coach.length_m)} by"
                    f" {wording.m_and_ft(coach.width_m)}"
                ),
            ),
            (
                "Area covered",
                (
                    f"{facts.area_m2:.1f} m² ({square_feet:.0f} ft²), gutter to gutter,"
                    " without the laps over the caps"
                ),
            ),
        ),
        share=0.2,
    )
    binder.together(
        roof_plan_drawing(
            length_m=coach.length_m,
            width_m=coach.width_m,
            width_pt=style.TEXT_WIDTH,
            penetrations=facts.penetrations,
        )
    )
    if facts.penetrations:
        listed = "; ".join(
            f"{number} {each.label}"
            for number, each in enumerate(facts.penetrations, start=1)
        )
        binder.body(f"Penetrations: {listed}.", style.NOTE)


def _system(binder: Binder, facts: CertificateFacts) -> None:
    roof = facts.roof
    binder.facts(
        (
            ("System", (Strong(roof.system_code), f"  {roof.system_title}")),
            ("Laid on", wording.readable(roof.substrate)),
            (
                "Applied",
                f"{wording.on(roof.started_on)} to {wording.on(roof.completed_on)}",
            ),
        ),
        share=0.2,
    )
    if roof.coats:
        binder.table(
            (
                Column(title="coat", share=0.3),
                Column(title="lot", share=0.4),
                Column(title="volume used", share=0.3),
            ),
            (
                (
                    wording.readable(coat.coat),
                    coat.lot or wording.NOT_RECORDED,
                    wording.litres_and_gal(coat.volume_l),
                )
                for coat in roof.coats
            ),
        )
    else:
        binder.body("No lots are recorded.")
    if not facts.film:
        binder.body("No film readings are recorded.")
        return
    binder.table(_FILM_COLUMNS, (_film_row(coat) for coat in facts.film))
    binder.note(BORROWED_RULE_SENTENCE)


_FILM_COLUMNS = (
    Column(title="coat", share=0.12),
    Column(title="dry film, mean", share=0.2),
    Column(title="lowest spot", share=0.26),
    Column(title="dry limits", share=0.3),
    Column(title="result", share=0.12),
)


def _film_row(coat: FilmCoatFacts) -> tuple[Words, ...]:
    mean = wording.mil_and_um(coat.mean_mil)
    lowest = wording.NOT_RECORDED
    if coat.lowest_spot_mil is not None:
        lowest = f"{coat.lowest_spot_label}: {wording.mil_and_um(coat.lowest_spot_mil)}"
    low = wording.mil_and_um(coat.dry_min_mil, missing="no lower limit")
    high = wording.mil_and_um(coat.dry_max_mil, missing="no upper limit")
    return (
        wording.readable(coat.coat),
        f"{mean}{', estimated from wet film' if coat.is_estimated else ''}",
        lowest,
        f"{low} to {high}",
        wording.verdict_word(coat.verdict),
    )


def _term(binder: Binder, facts: CertificateFacts) -> None:
    last = wording.on(
        facts.ends_on, missing=f"the end of the {facts.wording.life_of}'s life"
    )
    binder.facts(
        (
            ("Starts", f"{wording.on(facts.starts_on)}, when the roof was completed"),
            ("Runs for", _duration(facts)),
            ("Last covered day", last),
            ("Standing when issued", wording.standing_word(facts.standing_word)),
            (
                "Next inspection due",
                wording.on(facts.next_due_on, missing="none"),
            ),
        ),
        share=0.25,
    )


def _remedy(binder: Binder, facts: CertificateFacts) -> None:
    _paragraphs(binder, _said(facts.wording.remedy))
    if facts.wording.not_paid.strip():
        binder.body(Strong("What is not paid:"))
        _paragraphs(binder, facts.wording.not_paid)


def _duties(binder: Binder, facts: CertificateFacts) -> None:
    edition, said = facts.edition, facts.wording
    _paragraphs(binder, _said(said.duties))
    if said.duties_reason.strip():
        binder.body(Strong("Why:"))
        _paragraphs(binder, said.duties_reason)
    cost = (
        "cost the owner nothing" if said.inspections_free else "are paid by the owner"
    )
    shops = (
        "An inspection by another competent shop counts"
        if said.accepts_other_shops
        else "An inspection by another shop counts once the office has approved it"
    )
    binder.body(
        f"Inspections come every {edition.interval_months} months, counted from"
        f" the {edition.anchor}; the window opens {edition.window_days} days before the"
        f" due date and grace runs {edition.grace_days} days after it. After that the"
        f" promise rests until the roof is reinstated, within"
        f" {edition.reinstatement_days} days. Inspections {cost}. {shops}. A serious"
        f" finding is cured within {edition.serious_cure_days} days."
    )
    binder.note(
        "Care of the roof is work at height: use a ladder that is footed and held, stay"
        " off a wet or soft roof, and leave the rest to somebody who is equipped."
    )


def _procedure(binder: Binder, facts: CertificateFacts) -> None:
    _paragraphs(binder, _said(facts.wording.claim_procedure))
    binder.body(Strong("Who may do the work:"))
    _paragraphs(binder, _said(facts.wording.who_may_work))


def _registration(binder: Binder, facts: CertificateFacts) -> None:
    if facts.registered_on is not None:
        binder.body(f"Registered on {wording.on(facts.registered_on)}.")
    elif facts.wording.demands_registration:
        limit = wording.on(facts.registration_limit_on)
        binder.body(f"Not registered yet. The last day is {limit}.")
    _paragraphs(
        binder,
        _said(
            facts.wording.registration,
            NOT_STATED
            if facts.wording.demands_registration
            else "This promise does not rest on a registration.",
        ),
    )


def _lifetime(binder: Binder, facts: CertificateFacts) -> None:
    if facts.edition.term_months is None:
        life = facts.wording.life_of
        binder.body(
            f"Where this document speaks of a life or a lifetime, it is the life of the"
            f" {life}: the promise ends when the {life}'s life ends."
        )
    else:
        binder.body(f"No lifetime is promised: the term is {_duration(facts)}.")


def _local_law(binder: Binder, _facts: CertificateFacts) -> None:
    binder.body(LOCAL_LAW)


def _issue(binder: Binder, facts: CertificateFacts) -> None:
    binder.facts(
        (
            ("Issued", wording.on(facts.issued_on)),
            ("Edition", (Strong(facts.edition.code), f"  {facts.edition.title}")),
            ("As known at", wording.at(facts.known_at)),
            ("Content, SHA-256", Mono(facts.content_sha256)),
        ),
        share=0.2,
    )


def _text(name: str, missing: str = NOT_STATED) -> Callable[..., None]:
    def add(binder: Binder, facts: CertificateFacts) -> None:
        _paragraphs(binder, _said(getattr(facts.wording, name), missing))

    return add


# Title and content, in the order of the checklist.
_ITEMS: Final[tuple[tuple[str, Callable[[Binder, CertificateFacts], None]], ...]] = (
    ("Title and duration", _title),
    ("Who gives the promise", _warrantor),
    ("Who is covered", _owner),
    ("The coach and its roof", _coach),
    ("The coating", _system),
    ("What is covered", _text("covered")),
    ("What is not covered", _text("exclusions")),
    ("Start, duration and end", _term),
    ("What we do and pay for", _remedy),
    ("What the owner does", _duties),
    ("How to claim", _procedure),
    (
        "If we do not agree",
        _text("dispute_mechanism", "No informal dispute mechanism is named."),
    ),
    ("Implied warranties", _text("implied_limit", NO_LIMIT)),
    (
        "Incidental and consequential damages",
        _text("consequential_limit", NO_LIMIT),
    ),
    ("Your rights", _text("rights")),
    ("Registration", _registration),
    ("Lifetime", _lifetime),
    ("Local law", _local_law),
    ("Issue", _issue),
)
