"""Whatever people type into any field, the packet is made and the words come back."""

from __future__ import annotations

import unicodedata
from dataclasses import fields, is_dataclass, replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from tests.documents.packet_facts import make_short_packet_facts
from warranty.documents.packet import claim_packet_pdf
from warranty.documents.text import visible

pytestmark = pytest.mark.slow

PAYLOADS = {
    "unclosed markup": "A & B <b>bold",
    "local file": '<img src="/etc/hostname" width="10" height="10"/>',
    "outside picture": '<img src="http://127.0.0.1:9/x.png"/>',
    "script link": '<a href="javascript:alert(1)">press</a>',
    "code in a colour": '<font color="[[[getattr(1)]]]">x</font>',
    "entities": "&amp;&lt;&#x202e;]]>\"'",
    "emoji": "roof \U0001f600\u200d\U0001f527 ok",
    "cjk": "\u4e2d\u6587 name",
    "override": "abc\u202efdp.exe",
    "surrogate": "x\ud800y",
    "controls": "x\x00\x1b\x7fy",
    "combining": "Zoe\u0308 n\u0303",
    "hebrew": "\u05d0\u05d1\u05d2 roof",
    "formula": "=cmd|' /C calc'!A0",
}
# Words that choose what is drawn; a database constraint keeps them in their lists.
CHOSEN_BY_THE_PROGRAM = {"verdict", "word", "coat", "area", "spot"}


def with_text(value, text):
    """Return the facts with `text` in every string field, however deep."""
    if isinstance(value, tuple):
        return tuple(with_text(item, text) for item in value)
    if not is_dataclass(value):
        return text if isinstance(value, str) else value
    changed = {
        field.name: with_text(getattr(value, field.name), text)
        for field in fields(value)
        if field.name not in CHOSEN_BY_THE_PROGRAM
    }
    return replace(value, **changed)


def squeezed(words):
    return "".join(unicodedata.normalize("NFC", words).split()).replace("\u00a0", "")


def read_back(pdf):
    return squeezed("".join(p.extract_text() for p in PdfReader(BytesIO(pdf)).pages))


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS.keys())
def test_every_field_takes_it_and_gives_it_back(payload):
    pdf = claim_packet_pdf(with_text(make_short_packet_facts(), payload))

    # Some ninety fields and rows print it; a few sit in lower-cased or joined words.
    assert read_back(pdf).count(squeezed(visible(payload))) > 60
    assert b"/Subtype /Image" not in pdf
    assert b"/JavaScript" not in pdf
    assert b"/URI" not in pdf


def test_a_ten_kilobyte_name_in_every_field_still_makes_a_packet():
    payload = "long name " * 300 + "W" * 7_000

    pdf = claim_packet_pdf(with_text(make_short_packet_facts(), payload))

    assert read_back(pdf).count("longnamelongname") > 100


def test_a_ten_kilobyte_word_comes_back_whole():
    word = "".join(f"w{n:04d}" for n in range(2_000))
    facts = make_short_packet_facts()
    claim = replace(facts.claim, description=word)

    words = read_back(claim_packet_pdf(replace(facts, claim=claim)))

    # A page's running lines may stand between two of its lines, never inside one.
    missing = [n for n in range(2_000) if f"w{n:04d}" not in words]
    assert len(missing) <= 3


def test_a_long_text_of_many_lines_does_not_tear_the_table():
    facts = make_short_packet_facts()
    claim = replace(facts.claim, description="\n".join(f"line {n}" for n in range(999)))

    words = read_back(claim_packet_pdf(replace(facts, claim=claim)))

    assert "line998" in words
    assert "[longentry1]" in words
