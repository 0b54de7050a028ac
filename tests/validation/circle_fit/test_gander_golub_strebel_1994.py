"""Circle through six points.

W. Gander, G. H. Golub, R. Strebel, *Least-squares fitting of circles and ellipses*, BIT 34 (1994)
558-578, section 2. The points were read in a public file that quotes them; the printed answers are
from memory of the paper and were computed again. Only the head of the paper was seen.

Tolerance: half the last printed digit.
"""

from decimal import Decimal, localcontext

import numpy as np
import pytest

from spanwright.geometry.circle import fit_circle_algebraic, fit_circle_geometric

SOURCE = "Gander, Golub, Strebel, BIT 34 (1994) 558-578"
POINTS = np.array([[1, 7], [2, 6], [5, 8], [7, 7], [9, 5], [3, 7]], dtype=float)


@pytest.mark.validates(source=SOURCE, item="FIT-01: geometric fit", page="section 2, from memory")
def test_geometric():
    fit = fit_circle_geometric(POINTS)
    assert (*fit.centre, fit.radius) == pytest.approx((4.7398, 2.9835, 4.7142), abs=5e-5)


@pytest.mark.validates(
    source=SOURCE, item="FIT-01: algebraic fit, coefficients of unit norm", page="section 2, from memory"
)
def test_algebraic():
    fit = fit_circle_algebraic(POINTS)
    # the radius is printed 3.0370
    assert (*fit.centre, fit.radius) == pytest.approx((5.3794, 7.2532, 3.0370), abs=5e-5)


# ---- Below: digits computed for this project in a separate computation, NOT printed in the source ----


def test_more_digits_by_a_fixed_point_in_forty_digits():
    """Centre = mean of the points less radius times the mean direction to them; radius = mean distance."""
    with localcontext() as context:
        context.prec = 40
        points = [(Decimal(int(x)), Decimal(int(y))) for x, y in POINTS]
        n = len(points)
        a, b, r = Decimal(4), Decimal(3), Decimal(4)
        for _ in range(3000):
            reach = [((a - x) ** 2 + (b - y) ** 2).sqrt() for x, y in points]
            r = sum(reach) / n
            a, b = (
                sum(p[k] for p in points) / n
                + r * sum((c - p[k]) / d for p, d in zip(points, reach, strict=True)) / n
                for k, c in ((0, a), (1, b))
            )
    fit = fit_circle_geometric(POINTS)
    assert (*fit.centre, fit.radius) == pytest.approx((float(a), float(b), float(r)), abs=1e-10)


def test_more_digits_of_our_other_computation():
    """Its geometric fit stopped 4e-8 short of the fixed point above, hence 5e-8; the rest half a digit."""
    fit = fit_circle_geometric(POINTS)
    assert (*fit.centre, fit.radius) == pytest.approx((4.73978242, 2.98353274, 4.71422601), abs=5e-8)
    assert fit.rms**2 * len(POINTS) == pytest.approx(1.22759908, abs=6e-9)
    fit = fit_circle_algebraic(POINTS)
    assert (*fit.centre, fit.radius) == pytest.approx((5.37941332, 7.25319848, 3.03704146), abs=6e-9)


def test_it_is_not_the_fit_of_squares():
    """The fit of x^2 + y^2 (computed for this project) has another radius by far."""
    assert abs(fit_circle_geometric(POINTS).radius - 4.10876152) > 0.5
