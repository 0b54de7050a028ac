"""Widths, breaking and spelling of texts."""

import pytest

from spanwright.drawings import fonts


def test_a_word_that_is_too_wide_is_broken_and_nothing_is_lost():
    lines = fonts.wrapped("a " + "x" * 100 + " b", 2.5, 30.0)
    assert all(fonts.width(line, 2.5) <= 30.0 for line in lines)
    assert "".join(lines).replace(" ", "") == "a" + "x" * 100 + "b"


def test_words_that_fit_are_not_broken():
    assert fonts.wrapped("cut long", 2.5, 100.0) == ["cut long"]
    assert fonts.wrapped("", 2.5, 100.0) == [""]


@pytest.mark.parametrize(
    ("text", "seen"), [("a\tb\nc", "a b c"), ("x\x00y", "xy"), ("\u202eabc", "abc"), ("½ é", "½ é")]
)
def test_signs_that_control_the_line_do_not_stand_in_it(text, seen):
    assert fonts.one_line(text) == seen
    assert fonts.spelt(text) == seen
