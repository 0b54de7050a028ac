"""Elements of a spiral easement in feet.

Manual of a land-survey drafting program, 2022 edition, page "Spiral Curve":
https://files.carlsonsw.com/mirror/manuals/Carlson_2022/source/General/Draw/Spiral_Curve/Spiral_Curve.htm

Tolerance: half the last printed digit, with one exception. The manual prints X = 348.82 where the
exact end of the clothoid is 348.826 (a cut or a short series, not a rounding): one whole digit there.
"""

from math import radians

import pytest

from spanwright.geometry.curves import easement_elements

SOURCE = "Manual of a land-survey drafting program, 2022, page Spiral Curve"
DEFLECTION = radians(58 + 26 / 60 + 50 / 3600)


@pytest.mark.validates(source=SOURCE, item="SPI-01: Ls 350, R 954.93, delta 58 26 50", page="web page")
def test_spiral_elements():
    spiral = easement_elements(350.0, 954.93, DEFLECTION)
    assert spiral.turn == pytest.approx(radians(10.5), abs=radians(0.5 / 3600))
    assert spiral.turn == pytest.approx(0.18325951, abs=5e-9)
    assert spiral.x == pytest.approx(348.82, abs=0.01)
    assert spiral.y == pytest.approx(21.33, abs=0.005)
    assert spiral.run == pytest.approx(174.80, abs=0.005)
    assert spiral.shift == pytest.approx(5.34, abs=0.005)
    assert spiral.tangent == pytest.approx(712.00, abs=0.005)


def test_more_digits_of_our_other_computation():
    """Computed for this project in a separate computation, NOT printed in the source."""
    spiral = easement_elements(350.0, 954.93, DEFLECTION)
    ours = (348.826, 21.329, 174.804, 5.339, 712.000)
    got = (spiral.x, spiral.y, spiral.run, spiral.shift, spiral.tangent)
    assert got == pytest.approx(ours, abs=6e-4)
