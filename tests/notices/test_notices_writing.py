"""What a message says, in both languages, and the files that come with it."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import fields
from datetime import UTC, date, datetime
from html.parser import HTMLParser
from string import Formatter

import icalendar
import openpyxl
import pytest

from fleet.models import OwnerKind
from jobs.models import Message, Notice
from jobs.notices.event import Event, calendar
from jobs.notices.sending import mail_of
from jobs.notices.sheet import csv_bytes, xlsx_bytes
from jobs.notices.words import Wording, Words
from jobs.notices.words_en import ENGLISH
from jobs.notices.words_es import SPANISH
from jobs.notices.writing import draft
from tests import builders
from tests.builders import NOON
from warranty.rules.ladder import REMINDERS, Step
from warranty.rules.letter_words import forbidden_words
from warranty.selectors.notices import roof_notice_facts

DUE = date(2027, 5, 5)


class TestTheTwoLanguages:
    def wordings(self, words: Words) -> dict[str, Wording]:
        found = {step.value: said for step, said in words.steps.items()}
        found |= {f"claim {name}": said for name, said in words.claims.items()}
        return found | {"by finding": words.suspended_by_finding}

    def slots(self, text: str) -> set[str]:
        return {name for _, name, _, _ in Formatter().parse(text) if name}

    def test_both_say_the_same_things(self):
        english, spanish = self.wordings(ENGLISH), self.wordings(SPANISH)

        assert english.keys() == spanish.keys()
        assert set(ENGLISH.steps) == set(Step)
        for name, said in english.items():
            for field in fields(Wording):
                here = getattr(said, field.name)
                there = getattr(spanish[name], field.name)
                assert bool(here) == bool(there), (name, field.name)
                assert self.slots(here) == self.slots(there), (name, field.name)
                assert here == "" or here != there, (name, field.name)

    def test_every_reminder_says_by_when_and_what_if_not(self):
        for words in (ENGLISH, SPANISH):
            for step in REMINDERS:
                assert words.steps[step].by
                assert words.steps[step].otherwise

    @pytest.mark.parametrize("words", [ENGLISH, SPANISH])
    def test_no_answer_to_a_claim_is_called_the_last_one(self, words):
        for said in self.wordings(words).values():
            for field in fields(Wording):
                assert forbidden_words(getattr(said, field.name)) == ()


class Links(HTMLParser):
    """Collects the addresses of an HTML text, and anything that should not be there."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.tags: set[str] = set()
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.links += [value for name, value in attrs if name in {"href", "src"}]


@pytest.mark.django_db
class TestOneRoof:
    def make(self, *, step=Step.BEFORE_30, language="en", owner=None, described=None):
        owner = owner or builders.make_owner(
            name="Odessa Ferrymoor", email="o@x.example"
        )
        coach = builders.make_coach(
            owner=owner,
            unit_no="HL-0001",
            described=builders.make_description(**(described or {})),
        )
        roof = builders.make_promised_roof(coach=coach)
        message = Message(
            owner=owner, roof=roof, language=language, address=owner.email
        )
        notice = Notice(
            owner=owner, roof=roof, step=step.value, about_on=DUE, by_on=DUE
        )
        facts = roof_notice_facts([roof.pk], news_since=NOON)
        return message, draft(message, [notice], facts, now=NOON)

    def test_it_says_what_which_coach_by_when_and_what_if_not(self):
        _, made = self.make()

        assert made.subject == "Roof inspection due on 5 May 2027: coach HL-0001"
        for said in (
            "Dear Odessa Ferrymoor,",
            (
                "The roof of HL-0001 (2014 Tern Wanderer) is due for its inspection on "
                "5 May 2027. It counts from 6 March 2027 on."
            ),
            "By when: Have the roof inspected by 5 May 2027.",
            "Without an inspection by 4 July 2027 it is suspended",
            "do not climb onto the roof",
        ):
            assert said in made.text
            assert said.split(": ")[-1] in made.html

    def test_in_spanish(self):
        _, made = self.make(language="es")

        assert made.subject == (
            "Inspección del techo para el 5 de mayo de 2027: vehículo HL-0001"
        )
        assert "no suba al techo" in made.text
        assert '<html lang="es">' in made.html

    def test_it_has_one_button_and_one_way_to_stop(self):
        _, made = self.make()

        links = Links(made.html).links
        assert len(links) == 2
        assert links[1] == made.stop_url
        assert links[0] in made.text

    def test_news_of_a_standing_cannot_be_stopped(self):
        message, made = self.make(step=Step.ENDED)

        assert made.stop_url == ""
        assert len(Links(made.html).links) == 1
        assert "List-Unsubscribe" not in mail_of(message, made).extra_headers

    @pytest.mark.parametrize(
        ("site", "post"),
        [
            ("https://register.harrow-lake.example", "List-Unsubscribe=One-Click"),
            ("http://127.0.0.1:8000", None),
        ],
    )
    def test_reminders_are_stopped_with_one_click(self, settings, site, post):
        # RFC 8058, section 3.1: the address is HTTPS, the second header says this.
        settings.SITE_URL = site
        message, made = self.make()

        headers = mail_of(message, made).extra_headers
        assert headers["List-Unsubscribe"] == f"<{made.stop_url}>"
        assert headers.get("List-Unsubscribe-Post") == post

    def test_a_name_is_text_and_never_markup_or_a_header(self):
        owner = builders.make_owner(
            name="A & B <b>bold</b>\r\nBcc: x@y.example", email="o@x.example"
        )
        message, made = self.make(
            owner=owner, described={"make": "<img src=x>", "model": "=cmd|'/c'!A0"}
        )

        mail = mail_of(message, made).message()
        assert mail["Bcc"] is None
        assert "img" not in Links(made.html).tags
        assert "b" not in Links(made.html).tags
        assert "\n" not in made.subject

    def test_the_date_comes_as_a_calendar_event(self):
        _, made = self.make()
        [file] = made.attachments

        read = icalendar.Calendar.from_ical(file.content)
        [event] = read.walk("VEVENT")
        assert event.decoded("DTSTART") == DUE
        assert event.decoded("DTEND") == date(2027, 5, 6)
        assert "HL-0001" in event["SUMMARY"]
        assert read["METHOD"] == "PUBLISH"

    def test_the_same_date_keeps_its_id_and_a_moved_one_counts_up(self):
        _, first = self.make()
        seen = icalendar.Calendar.from_ical(first.attachments[0].content)
        [event] = seen.walk("VEVENT")

        assert str(event["UID"]).startswith("inspection-2027-05-05-")
        assert event["SEQUENCE"] == 0


@pytest.mark.django_db
def test_a_fleets_digest_has_a_table_and_its_files():
    fleet = builders.make_owner(
        name="Sandbar", kind=OwnerKind.RENTAL_FLEET, email="f@x.example"
    )
    edition = builders.make_edition(owner_kind=OwnerKind.RENTAL_FLEET)
    roofs = [
        builders.make_promised_roof(
            coach=builders.make_coach(owner=fleet, unit_no=unit), edition=edition
        )
        for unit in ("SB-1", "=SB-2")
    ]
    notices = [
        Notice(owner=fleet, roof=roof, step=step.value, about_on=DUE, by_on=DUE)
        for roof, step in zip(roofs, (Step.BEFORE_7, Step.ON_THE_DAY), strict=True)
    ]
    facts = roof_notice_facts([roof.pk for roof in roofs], news_since=NOON)

    made = draft(Message(owner=fleet, language="en"), notices, facts, now=NOON)

    files = {file.name: file.content for file in made.attachments}
    sheet = openpyxl.load_workbook(io.BytesIO(files["roofs.xlsx"])).active
    assert [row[0].value for row in sheet.rows] == ["Coach no.", "SB-1", "'=SB-2"]
    assert sheet["E2"].value == datetime(2027, 5, 5)  # noqa: DTZ001 - a day
    rows = list(csv.reader(io.StringIO(files["roofs.csv"].decode("utf-8-sig"))))
    assert [row[0] for row in rows] == ["Coach no.", "SB-1", "'=SB-2"]
    assert (
        len(icalendar.Calendar.from_ical(files["roof-dates.ics"]).walk("VEVENT")) == 2
    )
    assert made.html.count("<tr>") >= 3


class TestFormulas:
    # What spreadsheets take for the beginning of a formula (reliability notes, H4).
    HOSTILE = (
        *("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "\n=1"),
        *("\uff1d1", "\uff0b1", "\uff0d1", "\uff20A1"),
        "\x00=1",
    )

    @pytest.mark.parametrize("value", HOSTILE)
    def test_no_cell_starts_one(self, value):
        [[read]] = csv.reader(io.StringIO(csv_bytes([value], []).decode("utf-8-sig")))
        sheet = openpyxl.load_workbook(io.BytesIO(xlsx_bytes([value], []))).active

        for cell in (read, sheet["A1"].value):
            assert cell.startswith("'")
        assert sheet["A1"].data_type == "s"

    def test_numbers_and_days_stay_what_they_are(self):
        sheet = openpyxl.load_workbook(io.BytesIO(xlsx_bytes(["n"], [[-5], [DUE]])))

        assert [row[0].value for row in sheet.active.rows][1] == -5


class TestTheCalendar:
    def event(self, **over) -> Event:
        fields_ = {
            "uid": "a@b",
            "on": DUE,
            "summary": "x",
            "description": "y",
            "url": "https://x.example/",
        }
        return Event(**{**fields_, **over})

    @pytest.mark.parametrize(
        "text",
        [
            "Techo, año; barra \\ y\nlínea",
            "é" * 200,
            "\U0001f690" * 60,
            "END:VEVENT\r\nBEGIN:VEVENT",
            "a" * 74 + "ñ",
        ],
    )
    def test_any_text_comes_back_whole_in_lines_of_75_octets(self, text):
        made = calendar([self.event(summary=text)], now=NOON)

        for line in made.split("\r\n"):
            assert len(line.encode()) <= 75
        [event] = icalendar.Calendar.from_ical(made).walk("VEVENT")
        assert str(event["SUMMARY"]) == text.replace("\r", " ")

    @pytest.mark.parametrize("day", [date(2028, 2, 29), date(2026, 12, 31)])
    def test_leap_day_and_the_years_end(self, day):
        made = calendar([self.event(on=day)], now=datetime(2026, 12, 31, tzinfo=UTC))

        [event] = icalendar.Calendar.from_ical(made).walk("VEVENT")
        assert event.decoded("DTSTART") == day
        assert (event.decoded("DTEND") - day).days == 1
        assert re.search(r"DTSTAMP:20261231T000000Z\r\n", made)
