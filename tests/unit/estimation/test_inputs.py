"""Base inputs: columns, errors, sizes as weighted means."""

import numpy as np
import pytest

from spanwright.errors import InputError
from spanwright.estimation.inputs import Input, Inputs, Size, size


def item(key, value=1.0, sd=0.1):
    return Input(id=key, value=value, sd=sd, unit="mm", label=key, kind="size")


def test_columns_follow_the_order_and_survive_an_extension():
    inputs = Inputs(items=(item("a"), item("b", 2.0, 0.3)))
    longer = inputs.extended((item("c"),))
    assert [longer.column(k) for k in "abc"] == [0, 1, 2]
    assert "c" in longer
    assert "c" not in inputs
    assert len(longer) == 3
    np.testing.assert_allclose(longer.derived("b").jac, [0.0, 1.0, 0.0])
    np.testing.assert_allclose(longer.with_values(np.array([7.0, 8.0, 9.0])).values, [7.0, 8.0, 9.0])
    np.testing.assert_allclose(longer.sds, [0.1, 0.3, 0.1])


def test_the_doubts_are_made_once_and_cannot_be_written_to():
    inputs = Inputs(items=(item("a"), item("b", sd=0.3)))
    assert inputs.sds is inputs.sds
    with pytest.raises(ValueError, match="read-only"):
        inputs.sds[0] = 1.0


def test_size_is_the_weighted_mean():
    inputs = Inputs(items=(item("a", 10.0, 0.1), item("b", 10.3, 0.2)))
    mean = size(inputs, Size(ids=("a", "b")))
    assert float(mean.value) == pytest.approx((10.0 * 4 + 10.3) / 5)
    assert float(mean.sd(inputs.sds)) == pytest.approx(1.0 / np.sqrt(100.0 + 25.0))


def test_an_exact_reading_outweighs_all():
    inputs = Inputs(items=(item("a", 10.0, 0.0), item("b", 10.3, 0.2), item("c", 11.0, 0.0)))
    assert float(size(inputs, Size(ids=("a", "b", "c"))).value) == 10.5


@pytest.mark.parametrize(
    ("value", "sd", "said"), [(np.nan, 0.1, "0.1"), (1.0, -0.2, "-0.2"), (1.0, np.inf, "inf")]
)
def test_no_number_is_refused(value, sd, said):
    with pytest.raises(InputError, match=f"^tape 3: .*not a finite number; read {said}"):
        Inputs(items=(item("tape 3", value, sd),))


def test_two_of_one_name_are_refused():
    with pytest.raises(InputError, match=r"^twin: two inputs have the same id"):
        Inputs(items=(item("twin"), item("twin")))


def test_an_unknown_name_is_refused():
    with pytest.raises(InputError, match=r"^nobody: there is no input of this name"):
        Inputs(items=(item("a"),)).column("nobody")


def test_a_size_needs_a_reading():
    with pytest.raises(InputError, match="a size needs a reading at least"):
        Size(ids=())
