"""Texts of findings in the builder's words and unit: every length in an inch job is in inches."""

import pytest

from spanwright.drawings.speech import Speech, Words
from spanwright.estimation.inputs import Inputs


def speech(unit):
    words = Words(left="canal", right="works", start="dock", finish="moor", unit=unit)
    return Speech(words=words, inputs=Inputs(items=()), k=2.0)


@pytest.mark.parametrize(
    ("written", "inches"),
    [  # by the inch of 25.4 mm: 70 / 25.4 = 2.7559, 0.12 / 25.4 = 0.0047, 3 / 25.4 = 0.1181
        ("no hand gets under: 70 mm at the most", "no hand gets under: 2.76 in at the most"),
        ("rocks by 0.12 mm", "rocks by 0.005 in"),
        ("packing of -2.54 mm, not 25.4 mm", "packing of -0.100 in, not 1.000 in"),
        ("on the left side, in {finish}", "on the canal side, in moor"),
    ],
)
def test_lengths_in_a_text_are_said_in_the_builder_s_unit(written, inches):
    assert speech("inch").text(written) == inches
    in_mm = speech("mm").text(written)
    assert in_mm.count(" mm") == written.count(" mm")
    assert " in" not in in_mm.replace(", in moor", "")
