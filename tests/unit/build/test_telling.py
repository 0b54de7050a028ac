"""Sentences in the builder's words: numbers with doubt, sides, cut sizes to the safe side."""

import numpy as np
import pytest

from spanwright.build.telling import place, rough, say_cut, tell, to_cut, told, word
from spanwright.drawings.speech import Speech, Words
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Input, Inputs
from spanwright.parts.safe_side import Way


def speech(unit="mm"):
    words = Words(left="aisle", right="wall", start="town", finish="yard", unit=unit)
    items = (Input(id="a", value=1.0, sd=0.1, unit="mm", label="a", kind="size"),)
    return Speech(words=words, inputs=Inputs(items=items), k=2.0)


def test_numbers_sides_and_places_are_said_in_the_builders_words():
    number = Derived(np.float64(12.345), np.array([1.0]))
    text = told("{0} on the {left} side, {1} to the {finish} end of {2}; {3}.", number, 1.5,
                place("bent/column right"), word("as {left} it stands"))  # fmt: skip
    said = tell(text, speech())
    assert said == (
        "12.35 ± 0.20 mm on the aisle side, 1.50 mm to the yard end of bent, wall column;"
        " as {left} it stands."
    )


def test_a_rough_length_has_no_decimals():
    assert tell(told("{0}", rough(163.4)), speech()) == "163 mm"


@pytest.mark.parametrize(
    # 1 15/16 in is 49.2125 mm and 1 31/32 in is 50.00625 mm; a sixty-fourth is 0.396875 mm
    ("value", "way", "said"),
    [
        (49.2125, Way.LOW, '1.938 in (1 15/16")'),
        (49.55, Way.LOW, '1.951 in (1 15/16")'),
        (49.25, Way.LONG, '1.939 in (1 61/64")'),
        (49.2125, Way.LONG, '1.938 in (1 15/16")'),
        (49.25, Way.TO_SIZE, '1.939 in (1 15/16")'),
    ],
)
def test_a_fraction_goes_to_the_safe_side(value, way, said):
    assert say_cut(value, way, speech("inch")) == said
    assert tell(told("{0}", to_cut(value, way)), speech("inch")) == said


def test_a_cut_size_in_mm_is_said_with_its_unit():
    assert say_cut(49.2, Way.LOW, speech()) == "49.2 mm"
