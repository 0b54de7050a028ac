"""A line through four points, rising, from nought or above, to one at most.

C. L. Lawson, R. J. Hanson, *Solving Least Squares Problems*, SIAM, 1995 (first published by Prentice-Hall,
1974), chapter 23, the example of constrained curve fitting. The data and the printed answers were read in
the output of the authors' example program PROG6, in a public copy of their code; the book was not seen.

Tolerance: half the last printed digit.
"""

import numpy as np
import pytest

from spanwright.packing.profile import least_distance

SOURCE = "Lawson, Hanson, Solving Least Squares Problems, SIAM 1995"
T = np.array([0.25, 0.5, 0.5, 0.8])
W = np.array([0.5, 0.6, 0.7, 1.2])
#: Slope at least 0; value at 0 at least 0; value at 1 at most 1.
G = np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, -1.0]])
H = np.array([0.0, 0.0, -1.0])


def fitted():
    """The problem brought to least distance: E = Q R, z = R x - Q^T f."""
    E = np.column_stack([T, np.ones(4)])
    Q, R = np.linalg.qr(E)
    back = np.linalg.inv(R)
    z = least_distance(G @ back, H - G @ back @ Q.T @ W)
    return back @ (z + Q.T @ W), z, E


@pytest.mark.validates(source=SOURCE, item="PROG6: coefficients of the line", page="chapter 23, by PROG6")
def test_line():
    x, _, _ = fitted()
    assert x == pytest.approx([0.62132, 0.37868], abs=5e-6)


@pytest.mark.validates(source=SOURCE, item="PROG6: least distance", page="chapter 23, by PROG6")
def test_distance():
    _, z, _ = fitted()
    assert np.linalg.norm(z) == pytest.approx(0.28501, abs=5e-6)


@pytest.mark.validates(source=SOURCE, item="PROG6: residuals and their norm", page="chapter 23, by PROG6")
def test_residuals():
    x, _, E = fitted()
    residuals = W - E @ x
    assert residuals == pytest.approx([-0.03401, -0.08934, 0.01066, 0.32426], abs=5e-6)
    assert np.linalg.norm(residuals) == pytest.approx(0.33823, abs=5e-6)
