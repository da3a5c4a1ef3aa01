"""The door for text: what people type is printed as typed, and nothing hides."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.platypus import Paragraph

from warranty.documents.style import BODY, CELL
from warranty.documents.text import (
    P,
    Strong,
    clipped,
    in_drawing_order,
    plain,
    shortened,
    visible,
)
from warranty.documents.typeface import MONO, SANS, register_typefaces


@pytest.fixture(autouse=True)
def typefaces() -> None:
    register_typefaces()


def words_of(paragraph: Paragraph) -> str:
    return "".join(fragment.text for fragment in paragraph.frags)


class TestVisible:
    @pytest.mark.parametrize(
        ("typed", "shown"),
        [
            ("a\u202eb", "a<U+202E>b"),  # right-to-left override
            ("a\u200db", "a<U+200D>b"),  # zero-width joiner
            ("a\x00b", "a<U+0000>b"),
            ("a\x1b[31mb", "a<U+001B>[31mb"),
            ("\U0001f600", "<U+1F600>"),
            ("\u4e2d\u6587", "<U+4E2D><U+6587>"),
            ("\ud800x", "<U+D800>x"),  # a lone surrogate
            ("\ufeffx", "<U+FEFF>x"),
            ("12 \u03bcm", "12 \u00b5m"),  # Greek mu becomes the micro sign
            ("a\tb", "a b"),
            ("a\r\nb\rc", "a\nb\nc"),
            ("Zoe\u0308", "Zo\u00eb"),
            ("a\u2028b", "a<U+2028>b"),
        ],
    )
    def test_shows_what_could_hide(self, typed, shown):
        assert visible(typed) == shown

    def test_leaves_ordinary_words_alone(self):
        words = "Zoë Ångström, 12 ft by 8 ft — “roof” № 7"

        assert visible(words) == words

    def test_asks_the_typeface_that_will_draw(self):
        # The N'Ko letter U+07CB is in the proportional face only.
        assert visible("\u07cb", SANS) == "\u07cb"
        assert visible("\u07cb", MONO) == "<U+07CB>"

    @given(st.text())
    def test_result_can_always_be_encoded(self, typed):
        visible(typed).encode("utf-8")


class TestDrawingOrder:
    def test_turns_a_right_to_left_word_round(self):
        assert in_drawing_order("x \u05d0\u05d1\u05d2 y") == "x \u05d2\u05d1\u05d0 y"

    def test_keeps_digits_in_their_order(self):
        assert in_drawing_order("\u05d0\u05d1 12") == "\u05d1\u05d0 12"

    def test_keeps_marks_behind_their_letter(self):
        assert in_drawing_order("\u05d1\u05b8\u05d0") == "\u05d0\u05d1\u05b8"


class TestParagraph:
    @pytest.mark.parametrize(
        "typed",
        [
            "A & B <b>bold",
            '<img src="/etc/hostname">',
            '<img src="http://127.0.0.1:9/x.png">',
            '<a href="javascript:alert(1)">press</a>',
            '<font color="[[[getattr(1)]]]">x</font>',
            "<para><onDraw name='x'/></para>",
            "&lt;already escaped&gt; &amp; &#x202e;",
            "</para></font></b>",
            "]]>",
        ],
    )
    def test_prints_markup_as_it_was_typed(self, typed):
        assert words_of(P(typed, BODY)) == typed

    def test_sets_a_strong_piece_in_bold_without_obeying_it(self):
        paragraph = P(("a ", Strong("<i>b</i>")), BODY)

        assert words_of(paragraph) == "a <i>b</i>"
        assert paragraph.frags[1].fontName == "RoofSans-Bold"

    def test_breaks_a_word_that_is_wider_than_its_column(self):
        paragraph = P("W" * 10_000, CELL)

        width, _ = paragraph.wrap(60, 800)

        assert width <= 60
        assert len(paragraph.blPara.lines) > 1000


class TestCutting:
    def test_never_leaves_half_a_code(self):
        assert shortened("ab\U0001f600cd", 6) == "ab …"

    def test_leaves_short_text_whole(self):
        assert shortened("ab", 2) == "ab"

    def test_fits_the_width(self):
        assert clipped("W" * 100, SANS, 7, 50).endswith("…")
        assert clipped("W", SANS, 7, 50) == "W"

    def test_puts_lines_on_one_line(self):
        assert plain("a\nb") == "a b"
