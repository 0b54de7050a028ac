"""Results are kept by the values they rest on; their derivatives follow the inputs."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Input, Inputs
from spanwright.estimation.keeping import carry_over, same


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Result:
    name: str
    number: Derived
    also: tuple[Derived, ...]
    plain: np.ndarray


def listed(*names, value=1.0, sd=0.1):
    return Inputs(
        items=tuple(Input(id=n, value=value, sd=sd, unit="mm", label=n, kind="size") for n in names)
    )


def result(inputs):
    plain = np.arange(3.0)
    return Result(name="r", number=inputs.derived("a"), also=(inputs.derived("c"),), plain=plain)


def test_nothing_moves_where_nothing_came_or_went():
    before = listed("a", "b", "c")
    carry = carry_over(before, listed("a", "b", "c"))
    kept = result(before)
    assert not carry.moves
    assert not carry.changed
    assert carry.carried(kept) is kept


def test_derivatives_follow_their_inputs():
    before, now = listed("a", "b", "c"), listed("c", "new", "a")
    carry = carry_over(before, now)
    kept = result(before)
    moved = carry.carried(kept)
    assert carry.changed == {"b", "new"}
    assert same(moved.number, now.derived("a"))
    assert same(moved.also[0], now.derived("c"))
    assert moved.plain is kept.plain


def test_inputs_that_a_stage_has_added_stay_at_the_end():
    before, now = listed("a", "b"), listed("new", "a", "b")
    jac = np.array([[1.0, 2.0, 30.0, 40.0]])  # two of the job, two of the stage
    assert carry_over(before, now).array(jac).tolist() == [[0.0, 1.0, 2.0, 30.0, 40.0]]
    gone = carry_over(before, listed("b")).array(jac)
    assert gone.tolist() == [[2.0, 30.0, 40.0]]


@pytest.mark.parametrize("change", [{"value": 2.0}, {"sd": 0.2}, {"unit": "rad"}, {"kind": "reading"}])
def test_a_stage_that_names_a_changed_input_is_not_kept(change):
    before = listed("a", "b", "c")
    now = Inputs(items=(replace(before.items[0], **change), *before.items[1:]))
    carry = carry_over(before, now)
    assert not carry.keeps(("line", ("x", "a")), ("line", ("x", "a")))
    assert carry.keeps(("line", ("x", "b")), ("line", ("x", "b")))
    assert not carry.keeps(("line", ("x", "b")), ("line", ("y", "b")))
    assert carry.knows(now.derived("a"), now)
    assert not carry.knows(now.derived("b"), now)


def test_what_is_said_of_an_input_is_no_part_of_its_value():
    before = listed("a")
    now = Inputs(items=(replace(before.items[0], label="other", remedy="read it"),))
    assert not carry_over(before, now).changed
