"""The normal distribution against a table of special functions."""

import numpy as np
from scipy.special import ndtr

from spanwright.advice.normal import below


def test_it_agrees_with_a_library_of_special_functions():
    limits = np.linspace(-37.0, 37.0, 1521).reshape(3, -1)
    np.testing.assert_allclose(below(limits), ndtr(limits), rtol=1e-12, atol=0.0)
    assert below(np.array([-np.inf, np.inf])).tolist() == [0.0, 1.0]
