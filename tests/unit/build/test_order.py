"""What makes a list of steps impossible, and that a possible one keeps its order."""

import pytest

from spanwright.build.order import before, in_order
from spanwright.build.step import Phase, Step
from spanwright.build.telling import told
from spanwright.errors import InputError


def step(key, *needs, **more):
    return Step(id=key, title=told(key), phase=Phase.MAKE, lines=(), needs=needs, **more)


def ids(steps):
    return "".join(s.id for s in steps)


def test_a_possible_order_is_kept():
    steps = (step("a"), step("b", "a"), step("c", "a"), step("d", "b", "c"))
    assert ids(in_order(steps)) == "abcd"


def test_a_step_that_stands_too_early_moves_back_and_the_rest_keep_their_order():
    steps = (step("d", "b", "c"), step("a"), step("c", "a"), step("b", "a"))
    assert ids(in_order(steps)) == "acbd"


def test_what_comes_before_is_followed_through():
    steps = (step("a"), step("b", "a"), step("c", "b"), step("x"))
    assert before(steps, "c") == {"a", "b"}


@pytest.mark.parametrize(
    ("steps", "where", "value"),
    [
        ((step("a", "b"), step("b", "a")), "steps", "a after b after a"),
        ((step("a", "a"),), "steps", "a after a"),
        ((step("a", "b"), step("b", "c"), step("c", "b"), step("d", "a")), "steps", "b after c after b"),
        ((step("a", "gone"),), "a", "gone"),
        ((step("a"), step("a")), "a", 2),
        ((step("a", waits_for=("r",)),), "a", "r"),
        ((step("a", waits_for=("r",)), step("b", gives=("r",))), "a", "r"),
        ((step("a", waits_for=("r",), gives=("r",)),), "a", "r"),
        ((step("a", gives=("r",)), step("b", "a", gives=("r",))), "r", "a, b"),
        ((step("a", cuts=("p", "q")),), "a", "p, q"),
    ],
    ids=[
        "ring",
        "itself",
        "ring further on",
        "gone",
        "twice",
        "nowhere",
        "beside",
        "too late",
        "two takers",
        "cut",
    ],
)
def test_an_impossible_list_says_which_step_and_why(steps, where, value):
    with pytest.raises(InputError) as caught:
        in_order(steps)
    assert (caught.value.code, caught.value.where, caught.value.value) == ("BU001", where, value)


def test_a_cut_that_waits_for_a_reading_two_steps_back_is_possible():
    steps = (step("a", gives=("r",)), step("b", "a"), step("c", "b", cuts=("p",), waits_for=("r",)))
    assert ids(in_order(steps)) == "abc"
