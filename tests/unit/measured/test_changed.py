"""A sheet is void when something on it moved that a knife would follow."""

from dataclasses import replace

import pytest

from spanwright.drawings.display import Circle, Path, Sheet, Text
from spanwright.measured.changed import not_to_touch, void_sheets
from spanwright.measured.given import Made, PartState

SHEET = Sheet(
    id="a",
    title="A",
    items=(
        Path(points=((0.0, 0.0), (10.0, 0.0))),
        Circle(centre=(1.0, 1.0), radius=2.0),
        Text(at=(0.0, 0.0), text="49.20 ± 0.30 mm, pier 1"),
    ),
    notes=("Cut to 49.2",),
)


def with_item(number, **changes):
    items = list(SHEET.items)
    items[number] = replace(items[number], **changes)
    return replace(SHEET, items=tuple(items))


@pytest.mark.parametrize(
    "other",
    [
        SHEET,
        with_item(0, points=((0.0, 0.0), (10.04, 0.0))),
        with_item(2, text="49.20 ± 0.11 mm, pier 1"),
        with_item(2, text="49.24 ± 0.11 mm, pier 1"),
    ],
)
def test_what_moves_less_than_a_knife_follows_is_as_good_as_before(other):
    assert void_sheets([SHEET], [other]) == ()


@pytest.mark.parametrize(
    "other",
    [
        with_item(0, points=((0.0, 0.0), (10.06, 0.0))),
        with_item(0, points=((0.0, 0.0),)),
        with_item(1, radius=2.1),
        with_item(1, centre=(1.0, 1.1)),
        with_item(2, text="49.30 ± 0.30 mm, pier 1"),
        with_item(2, text="49.20 ± 0.30 mm, pier 2"),
        replace(SHEET, notes=("Cut to 49.4",)),
        replace(SHEET, items=SHEET.items[:2]),
        replace(SHEET, title="B"),
        replace(SHEET, id="b"),
    ],
)
def test_what_moves_more_is_void(other):
    assert void_sheets([SHEET], [other]) == (("a", "A"),)


def test_what_is_built_is_not_to_be_touched():
    made = tuple(Made(part=s.value, state=s, lengths=(1.0,)) for s in PartState)
    assert not_to_touch(made) == ("built",)
