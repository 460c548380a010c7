"""What growers type, read as numbers. Conversions are checked against the definitions of the units."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rounds.errors import BadInput
from rounds.units import convert, parse_number, parse_quantity, show


@pytest.mark.parametrize(("typed", "value"), [("6.4", 6.4), ("6,4", 6.4), (" 31 ", 31.0), ("-3,5", -3.5), ("0", 0.0)])
def test_a_comma_and_a_point_are_the_same(typed: str, value: float) -> None:
    assert parse_number(typed) == value


@pytest.mark.parametrize("typed", ["", " ", "6,4,2", "1,234.5", "1e3", "nan", "inf", "٣", "６", "abc", "--3", "1" * 41])
def test_what_is_no_plain_number_is_refused_with_what_is_expected(typed: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_number(typed)
    assert "6.4" in caught.value.hint


@given(st.text(max_size=60))
def test_any_text_is_a_finite_number_or_a_sentence(text: str) -> None:
    try:
        assert abs(parse_number(text)) < 1e41
    except BadInput as error:
        assert error.sentence.endswith(".") and error.sentence.isprintable()


# International yard and pound agreement 1959; SI brochure; 70 °F = (70 - 32) / 1.8 °C.
# ppm scales and CF: common practice, 1.40 mS/cm = 700 ppm (500 scale) = 980 ppm (700 scale) = CF 14.
@pytest.mark.parametrize(
    ("typed", "usual", "value"),
    [
        ("12 in", "cm", 30.48),
        ("31cm", "cm", 31.0),
        ("70 F", "°C", 21.1111),
        ("1900 uS/cm", "mS/cm", 1.9),
        ("1900 µS/cm", "mS/cm", 1.9),
        ("1.9 dS/m", "mS/cm", 1.9),
        ("700 ppm500", "mS/cm", 1.4),
        ("980 ppm700", "mS/cm", 1.4),
        ("14 CF", "mS/cm", 1.4),
        ("60 L/h", "L/min", 1.0),
    ],
)
def test_units_of_the_trade_become_the_usual_one(typed: str, usual: str, value: float) -> None:
    assert parse_quantity(typed, usual=usual) == pytest.approx(value, rel=1e-4)


# NIST Handbook 44, appendix C: US gallon 3.785412 L, imperial gallon 4.546090 L.
def test_a_gallon_is_refused_until_the_farm_has_said_which() -> None:
    assert parse_quantity("5 gal", usual="L", gallon="us") == pytest.approx(18.92706, rel=1e-6)
    assert parse_quantity("5 gal", usual="L", gallon="imperial") == pytest.approx(22.73045, rel=1e-6)
    with pytest.raises(BadInput, match="has not said which"):
        parse_quantity("5 gal", usual="L")


@pytest.mark.parametrize(
    "typed", ["31 kg", "31 blurb", "31 ppm", "31 2**999999999", "31 cm**9", "31 \x1b[2J", "31 __class__"]
)
def test_a_unit_that_does_not_fit_is_a_sentence(typed: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_quantity(typed, usual="cm")
    assert str(caught.value).isprintable()


@given(st.floats(min_value=-50, max_value=150, allow_nan=False))
def test_temperatures_come_back_from_fahrenheit(celsius: float) -> None:
    assert convert(convert(celsius, "°C", "°F"), "°F", "°C") == pytest.approx(celsius, abs=1e-9)


def test_a_shown_value_has_its_decimals_and_never_a_negative_zero() -> None:
    assert show(1.9, "mS/cm", 2) == "1.90 mS/cm"
    assert show(-0.001, "", 1) == "0.0"


def test_a_bare_number_does_not_load_the_unit_registry() -> None:
    program = (
        "import sys; from rounds.units import parse_quantity as p; p('31cm', usual='cm'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
