"""Batter, the end that is trimmed, and spans joined into units, as a job file says them."""

import math

import pytest

from spanwright.structures.given import TrimEnd

ABUTMENT = 'cap        = "3"\ncap_along  = "10"\ncap_across = "22"\n'
SHAFT = ABUTMENT + 'shaft_along = "8"\nshaft_across = "18"\nstock = "70"\n'


@pytest.mark.parametrize("written", ["1:24", "1 in 24", "4.1666666666666667 %"])
def test_a_batter_is_run_over_rise(job, written):
    job.replace(ABUTMENT, SHAFT + f'batter = "{written}"\ntrim = "top"\n')
    support = job.load().structures.supports[0]
    assert support.batter == pytest.approx(1.0 / 24.0, abs=1e-12)
    assert support.trim is TrimEnd.TOP


def test_an_angle_is_taken_from_upright(job):
    job.replace(ABUTMENT, SHAFT + 'batter = "2 deg"\n')
    support = job.load().structures.supports[0]
    assert support.batter == pytest.approx(math.tan(math.radians(2.0)))
    assert support.trim is TrimEnd.FOOT


def test_upright_unless_said(job):
    assert all(s.batter == 0.0 for s in job.load().structures.supports)


@pytest.mark.parametrize(
    ("old", "new", "code", "says"),
    [
        (ABUTMENT, SHAFT + 'batter = "1:2"\n', "JO081", ["1:2", "0 to 1:4"]),
        (ABUTMENT, SHAFT + 'batter = "-1:24"\n', "JO081", ["-1:24"]),
        (ABUTMENT, ABUTMENT + 'batter = "1:24"\n', "JO080", ["its own sizes", "shaft_along"]),
        (ABUTMENT, ABUTMENT + 'trim = "top"\n', "JO080", ["does not say its stock"]),
        (ABUTMENT, SHAFT + 'trim = "middle"\n', "JO003", ["middle"]),
        ('clear        =', 'batter = "1:24"\nclear        =', "JO058", ["a straddle bent has no batter"]),
    ],
)  # fmt: skip
def test_what_a_shaft_cannot_be(job, old, new, code, says):
    error = job.replace(old, new).error()
    assert error.code == code
    assert all(text in str(error) for text in says)


PITCH = 'tie_pitch    = "3"\n'


def test_spans_are_joined_as_listed(job):
    loaded = job.replace(PITCH, PITCH + 'units = [["span A", "span B"]]\n').load()
    assert loaded.parts.units == (("span A", "span B"),)


@pytest.mark.parametrize(
    ("units", "says"),
    [
        ('[["span A", "span C"]]', ["no span of this name", "span C"]),
        ('[["span B", "span A"]]', ["follow one another", "span B, span A"]),
        ('[["span A"]]', ["two or more spans", "span A"]),
        ("[[]]", ["two or more spans"]),
        ('[["span A", "span A"]]', ["joined twice", "span A"]),
        ('[["span A", "span B"], ["span A", "span B"]]', ["joined twice", "span A"]),
    ],
)
def test_what_cannot_be_a_unit(job, units, says):
    error = job.replace(PITCH, PITCH + f"units = {units}\n").error()
    assert error.code == "JO082"
    assert all(text in str(error) for text in says)
