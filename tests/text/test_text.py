"""Foreign text is harmless after cleaning, whatever it was; categories as in the Unicode Character Database, UAX 44."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.text import clean, clean_line, is_clean


@given(st.text(st.characters(), max_size=60))
def test_nothing_unwanted_is_left_and_cleaning_twice_changes_nothing(text):
    done = clean(text)
    assert not {unicodedata.category(each) for each in done if each != "\n"} & {"Cc", "Cf", "Cs", "Co", "Cn"}
    assert clean(done) == done
    assert is_clean(done)
    assert "\n" not in clean_line(text)
    done.encode()


@given(st.text(st.characters(categories=("L", "N", "P", "S", "M", "Zs")), max_size=60))
def test_letters_digits_and_signs_of_every_script_stay_as_they_are(text):
    assert clean(text) == text
    assert is_clean(text)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[31mred\x1b[0m", "\ufffd[31mred\ufffd[0m"),
        ("a\x00b\x07", "a\ufffdb\ufffd"),
        ("\u202eabc\u2066", "\ufffdabc\ufffd"),
        ("\ud800x", "\ufffdx"),
        ("soft\u00adhyphen", "soft\ufffdhyphen"),
        ("\U000f0000\u0378", "\ufffd\ufffd"),
        ("a\r\nb\rc\u2028d", "a\nb\nc\nd"),
        ("a\tb", "a b"),
        ("[@click=app.quit]x[/]", "[@click=app.quit]x[/]"),
    ],
)
def test_what_a_terminal_would_obey_becomes_visible(text, shown):
    assert clean(text) == shown


def test_a_long_text_is_cut_with_a_mark():
    assert clean("x" * 100_000, 10) == "x" * 9 + "…"
    assert len(clean_line("y" * 500)) == 200
