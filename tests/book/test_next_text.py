"""The next reading in one line: what it brings, and whether it alone is likely to settle anything."""

from dataclasses import replace

import pytest

from spanwright.advice.stage import advise
from spanwright.book.advising.next_text import next_lines
from spanwright.book.words import speech

pytestmark = pytest.mark.slow


@pytest.fixture
def demo(books):
    return books("demo").plan


@pytest.fixture
def cap(demo):
    """What is advised for the bent's cap: several readings, the first of little use by itself."""
    found = next(a for a in advise(demo) if "bent" in a.gap and len(a.steps) > 1)
    assert found.steps[0].outlook.settled(verdict(demo, found)) < 0.05
    return found


def verdict(plan, advice):
    return next(g.verdict for g in plan.clearance.gaps if g.id == advice.gap)


def line(plan, advice):
    return next_lines(plan, (advice,), speech(plan))[advice.gap]


def test_a_reading_that_will_not_do_alone_is_not_led_with(demo, cap):
    said = line(demo, cap)
    assert said.startswith(f"Next: no one reading is likely to settle it; {len(cap.steps)} together: ")
    assert "else change the design (spanwright remedies). First " in said


def test_a_reading_that_only_teaches_is_said_to(demo, cap):
    said = line(demo, replace(cap, steps=cap.steps[:1]))
    assert said.startswith("Next: no reading taken now is likely to settle it; ")
    assert "This one would teach most: " in said


def test_a_likely_reading_is_led_with(demo):
    likely = next(a for a in advise(demo) if a.steps and a.steps[0].outlook.settled(verdict(demo, a)) > 0.05)
    said = line(demo, likely)
    assert "likely to settle" not in said
    assert "% that it is then clear" in said
