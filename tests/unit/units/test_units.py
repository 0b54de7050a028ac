"""Lengths, angles and scales: what is read, exactly, and what is refused."""

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spanwright.errors import InputError
from spanwright.units import (
    format_inch_fraction,
    format_mm,
    is_angle_text,
    parse_angle,
    parse_hours,
    parse_length,
    parse_scale,
    parse_share,
)

F = Fraction
IN = F(254, 10)
FT = 12 * IN


@pytest.mark.parametrize(
    ("text", "unit", "wanted"),
    [
        # metric
        ("12.7 mm", "mm", F(127, 10)),
        ("12.7mm", "inch", F(127, 10)),
        ("12,7 mm", "mm", F(127, 10)),
        ("1.5 cm", "mm", F(15)),
        ("1,5cm", "mm", F(15)),
        ("2 m", "mm", F(2000)),
        ("0.25 m", "mm", F(250)),
        ("1/2 mm", "mm", F(1, 2)),
        ("0,125 mm", "mm", F(1, 8)),
        ("1234,5 mm", "mm", F(12345, 10)),
        (".5 mm", "mm", F(1, 2)),
        ("007 mm", "mm", F(7)),
        # bare numbers take the job's unit
        ("61.5", "mm", F(615, 10)),
        ("61,5", "mm", F(615, 10)),
        ("0", "mm", F(0)),
        ("3 1/2", "inch", F(7, 2) * IN),
        ("3-1/2", "in", F(7, 2) * IN),
        ("½", "inch", F(1, 2) * IN),
        ("1/64", "inch", IN / 64),
        ("2", "inch", 2 * IN),
        ("2", "ft", 2 * FT),
        ("2", "cm", F(20)),
        # numbers of the file format
        (3, "mm", F(3)),
        (-3, "mm", F(-3)),
        (0.1, "mm", F(1, 10)),
        (1e-05, "mm", F(1, 100000)),
        (12.7, "inch", F(127, 10) * IN),
        # inches
        ('3 1/2"', "mm", F(889, 10)),
        ("3-1/2 in", "mm", F(889, 10)),
        ("3 - 1/2 in", "mm", F(889, 10)),
        ('3½"', "mm", F(889, 10)),
        ('3 ½"', "mm", F(889, 10)),
        ('¼"', "mm", F(635, 100)),
        ('⅛"', "mm", IN / 8),
        ('24 1/8"', "mm", F(193, 8) * IN),
        ('1/64"', "mm", IN / 64),
        ('63/64"', "mm", F(63, 64) * IN),
        ('5/4"', "mm", F(5, 4) * IN),
        ("0.040 in", "mm", F(1016, 1000)),
        ("0.04 inch", "mm", F(1016, 1000)),
        ("2 inches", "mm", 2 * IN),
        ("3 1⁄2″", "mm", F(889, 10)),
        ("3 1/2”", "mm", F(889, 10)),
        ("3 1/2''", "mm", F(889, 10)),
        # feet
        ("22'6\"", "mm", F(270) * IN),
        ("22' 6\"", "mm", F(270) * IN),
        ("22' 6 1/2\"", "mm", F(541, 2) * IN),
        ("22'-6 1/2\"", "mm", F(541, 2) * IN),
        ("22′6½″", "mm", F(541, 2) * IN),
        ("5' 3 1/2\"", "mm", F(127, 2) * IN),
        ("5' 1/2\"", "mm", F(121, 2) * IN),
        ("5ft 3in", "mm", 63 * IN),
        ("5 feet 3 inches", "mm", 63 * IN),
        ("22'6", "mm", F(270) * IN),
        ("22'", "mm", 22 * FT),
        ("2.5 ft", "mm", F(5, 2) * FT),
        ("1 foot", "mm", FT),
        # signs
        ("+0.3", "mm", F(3, 10)),
        ("-0.3 mm", "mm", F(-3, 10)),
        ("−0.3 mm", "mm", F(-3, 10)),
        ('-3 1/2"', "mm", F(-889, 10)),
        ("-5' 3\"", "mm", -63 * IN),
        ("- 0.3", "mm", F(-3, 10)),
        ("  4 mm  ", "mm", F(4)),
        ("4\u00a0mm", "mm", F(4)),
    ],
)
def test_lengths_are_exact(text, unit, wanted):
    assert parse_length(text, unit) == wanted
    assert isinstance(parse_length(text, unit), F)


@pytest.mark.parametrize(
    ("text", "scale", "wanted"),
    [
        ("50 ft proto", F(160), 50 * FT / 160),
        ("22'6\" proto", F(160), 270 * IN / 160),
        ("22'6\" full size", F(871, 10), 270 * IN * 10 / 871),
        ("15 m prototype", F(87), F(15000, 87)),
    ],
)
def test_full_size_lengths_are_divided_by_the_scale(text, scale, wanted):
    assert parse_length(text, scale=scale) == wanted


@pytest.mark.parametrize(
    "text",
    [
        *("", " ", '3 1 2"', '1/0"', "nan", "inf", "-inf", "12..5", "12.5.1", "1e3", "0x10", "1_000"),
        *("5' 14\"", "5.5' 3\"", '3 5/4"', '3 4/4"', '3 1/2 1/4"', '3/4/5"', "1,234 mm", "1,234"),
        *("12 km", "12 mm mm", "mm", '"', "'", "--3", "+-3", "3-", "3 -1", "3 1/2", "½", "12.", "five"),
        *("3' 2' 1\"", "6\" 5'", '1/-2"', '3 1/2.5"', "٣ mm", "5'3 1 2\"", "1 in 55", "1:55", "2 %"),
        *("50 ft proto", "5 proto", "²", "3²", "12 mm\x00", "9" * 70, 10**10, 1e300, -(10**400)),
        *(math.nan, math.inf, -math.inf, True, [1], b"3"),
    ],
)
def test_what_cannot_be_meant_is_refused_and_shown(text):
    with pytest.raises(InputError) as error:
        parse_length(text)
    assert error.value.code == "UN001"
    assert repr(text)[:40] in str(error.value) or isinstance(text, int)
    assert "such as" in str(error.value)


def test_full_size_needs_its_unit():
    with pytest.raises(InputError, match=r"needs its unit.*'5 proto'"):
        parse_length("5 proto", scale=F(160))


def test_unknown_unit_is_refused():
    with pytest.raises(InputError, match="'furlong'"):
        parse_length("3", "furlong")


@given(st.integers(-(10**6), 10**6), st.sampled_from([1, 2, 4, 8, 16, 32, 64, 128]))
def test_fractions_of_an_inch_come_back(numerator, denominator):
    length = F(numerator, denominator) * IN
    assert parse_length(format_inch_fraction(length, 128)) == length


@given(st.decimals(-(10**6), 10**6, places=4), st.sampled_from(["mm", "cm", "m", "in", "ft"]))
def test_decimals_come_back(number, unit):
    size = {"mm": F(1), "cm": F(10), "m": F(1000), "in": IN, "ft": FT}[unit]
    assert parse_length(f"{number} {unit}") == F(number) * size
    if abs(number) < 1 or unit != "mm":
        return
    assert parse_length(f"{number} {unit}".replace(".", ",")) == F(number)


@given(st.floats(-1e6, 1e6))
def test_a_number_and_its_text_are_the_same_length(number):
    assert parse_length(number) == F(repr(number))


@given(st.integers(0, 500), st.integers(0, 12 * 64 - 1))
def test_feet_and_inches_come_back(feet, parts):
    inches = format_inch_fraction(F(parts, 64) * IN)
    assert parse_length(f"{feet}' {inches}") == feet * FT + F(parts, 64) * IN


@given(st.text(max_size=12))
def test_any_text_is_a_length_or_a_clear_refusal(text):
    try:
        code = "UN001" if isinstance(parse_length(text), F) else ""
    except InputError as error:
        code = error.code
    assert code == "UN001"


@given(st.text(alphabet="0123456789 .,/-+'\"°degin:%rad", max_size=14))
def test_any_text_is_an_angle_or_a_clear_refusal(text):
    try:
        code = "UN002" if math.isfinite(parse_angle(text)) else ""
    except InputError as error:
        code = error.code
    assert code == "UN002"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("1.2 deg", math.radians(1.2)),
        ("1,2 deg", math.radians(1.2)),
        ("1.2°", math.radians(1.2)),
        ("-1.2 degrees", -math.radians(1.2)),
        ("38°48'50.7\"", math.radians(38 + 48 / 60 + 50.7 / 3600)),
        ("38° 48′ 50.7″", math.radians(38 + 48 / 60 + 50.7 / 3600)),
        ("38°48'", math.radians(38.8)),
        ("0.02 rad", 0.02),
        ("20 mrad", 0.02),
        ("1.8 %", math.atan(0.018)),
        ("18 ‰", math.atan(0.018)),
        ("-1.8%", -math.atan(0.018)),
        ("1:55", math.atan(1 / 55)),
        ("1 in 55", math.atan(1 / 55)),
        ("1 in 87.5", math.atan(1 / 87.5)),
        ("0", 0.0),
        (0, 0.0),
    ],
)
def test_angles(text, wanted):
    assert parse_angle(text) == pytest.approx(wanted, rel=1e-15)


@pytest.mark.parametrize(
    "text",
    [
        *(
            "",
            "1.2",
            1.2,
            "1.2 grd",
            "38°61'",
            "38°10'60\"",
            "38.5°10'",
            "38°10.5'3\"",
            "1:0",
            "1 in 0",
            "2:55",
        ),
        *("nan deg", "inf rad", True, "12 mm", "1,234 deg", "°"),
    ],
)
def test_angles_that_cannot_be_meant(text):
    with pytest.raises(InputError, match=re.escape(repr(text))) as error:
        parse_angle(text)
    assert error.value.code == "UN002"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        *((text, True) for text in ("1.2 deg", "1:55", "1 in 55", "2 %", "0.02 rad", "38°")),
        *((text, False) for text in ("12 mm", "3 1/2 in", "0.3", 0.3, "5' 3\"")),
    ],
)
def test_an_angle_is_known_by_its_writing(text, wanted):
    assert is_angle_text(text) is wanted


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("1:160", F(160)),
        ("1/160", F(160)),
        ("1:87.1", F(871, 10)),
        ("1:87,1", F(871, 10)),
        ("1:76.2", F(762, 10)),
        ("1 : 22.5", F(225, 10)),
        ("3.5 mm = 1 ft", F(3048, 35)),
        ("4 mm = 1 ft", F(762, 10)),
        ("1/4\" = 1'", F(48)),
        ("1:1", F(1)),
    ],
)
def test_scales(text, wanted):
    assert parse_scale(text) == wanted


@pytest.mark.parametrize("text", ["", "160", "1:0", "160:1", "1:0.5", "N", 160, "1:1,160", "0 mm = 1 ft"])
def test_scales_that_cannot_be_meant(text):
    with pytest.raises(InputError, match=re.escape(repr(text))) as error:
        parse_scale(text)
    assert error.value.code == "UN003"


def test_shares():
    assert parse_share("0.05 %") == F(5, 10000)
    assert parse_share("8%") == F(8, 100)
    for text in ("0.05", "-1 %", 0.05, "x %", ""):
        with pytest.raises(InputError, match=re.escape(repr(text))):
            parse_share(text)


@pytest.mark.parametrize(
    ("value", "u", "wanted"),
    [
        (43.1234, 0.31, "43.12 ± 0.31 mm"),
        (43.1234, 0.0996, "43.12 ± 0.10 mm"),
        (43.1234, 0.00312, "43.1234 ± 0.0031 mm"),
        (4312.34, 31.2, "4312 ± 31 mm"),
        (4312.34, 312.0, "4310 ± 310 mm"),
        (43.1234, 1.26, "43.1 ± 1.3 mm"),
        (-0.001, 0.31, "0.00 ± 0.31 mm"),
        (-1.5, 0.5, "-1.50 ± 0.50 mm"),
        (43.1234, 0.0, "43.123 mm"),
        (-0.0, 0.0, "0.000 mm"),
        (-0.0001, 0.0, "0.000 mm"),
    ],
)
def test_two_figures_of_doubt(value, u, wanted):
    assert format_mm(value, u) == wanted


@pytest.mark.parametrize(("value", "u"), [(math.nan, 0.1), (1.0, math.inf), (1.0, -0.1)])
def test_no_nonsense_is_shown(value, u):
    with pytest.raises(InputError, match=re.escape(repr((value, u)))):
        format_mm(value, u)


@pytest.mark.parametrize(
    ("value", "denominator", "wanted"),
    [
        (612.775, 64, '24 1/8"'),
        (88.9, 64, '3 1/2"'),
        (0.4, 64, '1/64"'),
        (-0.4, 64, '-1/64"'),
        (0.0, 64, '0"'),
        (-0.01, 64, '0"'),
        (25.4, 64, '1"'),
        (25.39, 16, '1"'),
        (F(254, 80), 8, '1/8"'),
    ],
)
def test_inch_fractions(value, denominator, wanted):
    assert format_inch_fraction(value, denominator) == wanted


def test_inch_fraction_of_nothing():
    with pytest.raises(InputError, match="nan"):
        format_inch_fraction(math.nan)
    with pytest.raises(InputError, match="0"):
        format_inch_fraction(1.0, 0)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("90 min", F(3, 2)),
        ("2 h", F(2)),
        ("1.5h", F(3, 2)),
        ("1,5 hours", F(3, 2)),
        ("1 h 20 min", F(4, 3)),
        ("2 days", F(48)),
        ("1 day 6 h", F(30)),
        ("0 min", F(0)),
    ],
)
def test_times_are_read_exactly(text, wanted):
    assert parse_hours(text) == wanted


@pytest.mark.parametrize(
    "text", ["", " ", "2", 2, None, True, "-2 h", "2 mm", "h", "20 min 1 h", "1,234 h", "9" * 99]
)
def test_what_is_no_time_is_refused(text):
    with pytest.raises(InputError, match="time") as caught:
        parse_hours(text)
    assert caught.value.code == "UN007"
    assert repr(text) in str(caught.value) or text is None
