"""Several suspects left out at once: only those that the others still check."""

from types import SimpleNamespace

import numpy as np
import pytest

from spanwright.clearance.suspects import suspect_shifts
from spanwright.estimation.inputs import Input, Inputs

KEYS = ("a", "b", "c")


def survey(by, residuals):
    return SimpleNamespace(
        suspects=tuple(SimpleNamespace(readings=(key,)) for key in KEYS),
        reading_ids=KEYS,
        adjustment=SimpleNamespace(residual_by_observed=np.array(by), residuals=np.array(residuals)),
        residual_by_input=np.array(by),
    )


@pytest.fixture
def inputs():
    return Inputs(
        items=tuple(Input(id=k, value=0.0, sd=1.0, unit="mm", label=k, kind="reading") for k in KEYS)
    )


def test_two_readings_of_one_thing_check_only_one_another(inputs):
    """Both left out, nothing foretells either: the second is kept, and no equation is singular."""
    by = [[0.5, -0.5, 0.0], [-0.5, 0.5, 0.0], [0.0, 0.0, 0.5]]
    *single, joint = suspect_shifts(survey(by, [1.0, -1.0, 2.0]), inputs)
    assert [s.id for s in single] == list(KEYS)
    assert joint.id == "a and c"
    np.testing.assert_allclose(joint.slips.value, [2.0, 4.0])


def test_those_that_others_check_are_left_out_together(inputs):
    by = [[0.6, -0.2, 0.0], [-0.2, 0.6, 0.0], [0.0, 0.0, 0.5]]
    joint = suspect_shifts(survey(by, [1.0, 1.0, 2.0]), inputs)[-1]
    assert joint.id == "a and b and c"
    np.testing.assert_allclose(np.array(by) @ joint.slips.value, [1.0, 1.0, 2.0])
