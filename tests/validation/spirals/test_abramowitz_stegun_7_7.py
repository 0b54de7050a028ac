"""Fresnel integrals C(t) and S(t), by a clothoid whose curvature grows as pi times its length.

M. Abramowitz, I. A. Stegun, *Handbook of Mathematical Functions*, National Bureau of Standards, 1964,
table 7.7. The values (12 digits) were read in a public file that says it took them from there; the
page of the book was not seen.

Tolerance: half the last digit of the values read.
"""

from math import pi

import pytest

from spanwright.geometry.chain import clothoid

SOURCE = "Abramowitz & Stegun, Handbook of Mathematical Functions, 1964"
ROWS = [  # t, C(t), S(t)
    (0.5, 0.492344225871, 0.064732432860),
    (1.0, 0.779893400377, 0.438259147390),
    (1.5, 0.445261176040, 0.697504960082),
    (2.0, 0.488253406075, 0.343415678364),
    (3.0, 0.605720789298, 0.496312998967),
]


@pytest.mark.validates(
    source=SOURCE, item="FRE-01: C(t) and S(t), five values", page="table 7.7, page not seen"
)
@pytest.mark.parametrize(("t", "c", "s"), ROWS)
def test_fresnel_integrals(t, c, s):
    x, y, _ = clothoid(t, 0.0, pi * t)
    assert (x, y) == pytest.approx((c, s), abs=5.1e-13)
