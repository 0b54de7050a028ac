"""Throw of a posed body, worked by turning and measuring its corners; first order beside it."""

from decimal import Decimal, localcontext
from math import inf

import numpy as np
import pytest

from spanwright.errors import InputError
from spanwright.geometry.throw import (
    end_throw,
    end_throw_first_order,
    half_split_shift,
    mid_throw,
    mid_throw_first_order,
    middle_ordinate_of_chord,
)

BODIES = [
    (250.0, 110.0, 82.0, 9.0),
    (600.0, 224.0, 165.0, 17.0),
    (5000.0, 110.0, 80.0, 9.0),
    (300.0, 0.0, 60.0, 8.0),
]


def posed(radius, pivots, reach, half_width):
    """Radial distances of the outer corner and of the inner side, from a body turned into place."""
    angle = np.arcsin(0.5 * pivots / radius)
    one = radius * np.array([np.cos(0.4 - angle), np.sin(0.4 - angle)])
    two = radius * np.array([np.cos(0.4 + angle), np.sin(0.4 + angle)])
    middle = 0.5 * (one + two)
    out = np.array([np.cos(0.4), np.sin(0.4)])
    along = np.array([-out[1], out[0]])
    corner = middle + reach * along + half_width * out
    sides = middle + np.linspace(-reach, reach, 20001)[:, None] * along - half_width * out
    return np.hypot(*corner), np.hypot(*sides.T).min()


@pytest.mark.parametrize("body", BODIES)
def test_throw_of_a_posed_body(body):
    radius, pivots, _, half_width = body
    corner, side = posed(*body)
    assert end_throw(*body) == pytest.approx(corner - radius - half_width, abs=1e-9)
    assert mid_throw(radius, pivots) == pytest.approx(radius - half_width - side, abs=1e-9)


def test_a_wider_body_throws_its_corner_less():
    assert end_throw(250.0, 110.0, 82.0, 12.0) < end_throw(250.0, 110.0, 82.0, 0.0)


def test_first_order_is_the_limit_of_flat_curves():
    for radius in (1e4, 1e6, 1e8):
        assert mid_throw(radius, 110.0) == pytest.approx(
            mid_throw_first_order(radius, 110.0), rel=200 / radius
        )
        exact = end_throw(radius, 110.0, 82.0, 9.0)
        assert exact == pytest.approx(end_throw_first_order(radius, 110.0, 82.0), rel=200 / radius)


def test_digits_are_kept_on_flat_curves():
    radius, pivots, reach, width = (Decimal(v) for v in (10_000_000, 110, 82, 9))
    with localcontext() as context:
        context.prec = 50
        axis = (radius**2 - pivots**2 / 4).sqrt()
        mid = radius - axis
        end = ((axis + width) ** 2 + reach**2).sqrt() - radius - width
    assert mid_throw(1e7, 110.0) == pytest.approx(float(mid), rel=1e-13)
    assert end_throw(1e7, 110.0, 82.0, 9.0) == pytest.approx(float(end), rel=1e-13)


def test_straight_track_throws_nothing():
    assert mid_throw(inf, 110.0) == end_throw(inf, 110.0, 82.0, 9.0) == half_split_shift(inf, 200.0) == 0.0


def test_half_split_strays_equally():
    radius, chord = 457.0, 160.0
    shift = half_split_shift(radius, chord)
    axis = radius - middle_ordinate_of_chord(radius, chord) + shift  # of the deck, from the arc's centre
    assert radius - axis == pytest.approx(shift)  # the arc stands outside it at the middle ...
    at_end = np.sqrt(radius**2 - (0.5 * chord) ** 2)
    assert axis - at_end == pytest.approx(shift)  # ... as far as inside it at the ends


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: mid_throw(0.0, 10.0), "radius: .*read 0.0"),
        (lambda: mid_throw_first_order(-5.0, 10.0), "radius: .*read -5.0"),
        (lambda: mid_throw(100.0, -1.0), "pivot distance: .*read -1.0"),
        (lambda: end_throw(100.0, 201.0, 150.0, 9.0), "read 201.0; expected at most 200"),
        (lambda: end_throw(250.0, 110.0, 54.0, 9.0), "reach: .*read 54.0; expected at least 55"),
        (lambda: end_throw_first_order(250.0, 110.0, 54.0), "read 54.0"),
        (lambda: end_throw(250.0, 110.0, 82.0, -9.0), "half width: .*read -9.0"),
    ],
)
def test_what_cannot_be_meant_is_said(call, said):
    with pytest.raises(InputError, match=said):
        call()
