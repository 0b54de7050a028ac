"""End of a clothoid, radius 300, length 90.

Design notes of a public drafting project, where a series and a quadrature agree to the digits
below; the notes carry no title to cite, so the digits are checked a third way here, by the Fresnel
integrals of SciPy.

Tolerance: half the last printed digit, 1e-12 being the digits given.
"""

from math import pi, sqrt

import pytest
from scipy.special import fresnel

from spanwright.geometry.chain import clothoid

SOURCE = "Design notes of a public drafting project (untitled): series and quadrature"
RADIUS, LENGTH = 300.0, 90.0
PRINTED = (89.797710828008, 4.492773032666)


@pytest.mark.validates(source=SOURCE, item="SPI-03: end of a clothoid, R 300, L 90", page="no pages")
def test_end_point():
    x, y, heading = clothoid(LENGTH, 0.0, 1.0 / RADIUS)
    # printed to 1e-12, which is 70 units of rounding of a number near 90: five of them more
    assert (x, y) == pytest.approx(PRINTED, abs=5e-13 + 5 * 1.4e-14)
    assert heading == pytest.approx(LENGTH / (2 * RADIUS), abs=1e-15)


def test_printed_digits_against_fresnel_integrals():
    size = sqrt(pi * RADIUS * LENGTH)
    s, c = fresnel(LENGTH / size)
    assert (size * c, size * s) == pytest.approx(PRINTED, abs=6e-13)
