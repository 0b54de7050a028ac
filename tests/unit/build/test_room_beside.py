"""The least opening beside what a step works at: sizes set out by hand, what is not counted, what is said."""

import numpy as np
import pytest

from spanwright.build.room.beside import TOOL_ROOM, beside_findings, openings_beside, told_beside, with_room
from spanwright.build.step import Phase, Step
from spanwright.build.telling import Said, told
from spanwright.estimation.derived import constant
from spanwright.structures.shapes import Shape
from truth.build_cases import built

JOINED = {
    "span": frozenset({"span", "pier", "wall"}),
    "pier": frozenset({"span"}),
    "wall": frozenset({"span"}),
}


def corners(low, high):
    (x0, y0, z0), (x1, y1, z1) = low, high
    return np.array([[x, y, z] for x in (x0, x1) for y in (y0, y1) for z in (z0, z1)], dtype=float)


def box(part, low, high):
    """A part between two corners."""
    return Shape(
        part=part,
        vertices=corners(low, high),
        triangles=np.array([[0, 1, 2]]),
        controls=constant(np.zeros(0)),
        sensitivity=np.zeros((8, 3, 0)),
    )


def step(key, *pieces, tools=("square", "card"), phase=Phase.SET):
    return Step(id=key, title=told(key), phase=phase, lines=(), pieces=pieces, tools=tools)


def openings(steps, shapes, fixed=None, hand=90.0):
    return openings_beside(tuple(steps), tuple(shapes), fixed or {}, hand=hand, joined=JOINED)


WALL = box("wall/shaft", (0, 0, 0), (10, 10, 50))
PIER = box("pier/shaft", (40, 0, 0), (50, 10, 50))
GLUE = [step("glue/wall", "wall/shaft"), step("glue/pier", "pier/shaft")]


def test_the_opening_is_that_to_what_stands_already():
    first, second = openings(GLUE, [WALL, PIER])
    assert (first.part, first.room, first.thing) == ("wall/shaft", np.inf, "")
    assert first.admits_hand
    assert (second.part, second.room, second.thing) == ("pier/shaft", pytest.approx(30.0), "wall/shaft")
    assert not second.admits_hand
    assert second.tools == (("square", True), ("card", True))


def test_a_smaller_hand_goes_in():
    assert openings(GLUE, [WALL, PIER], hand=30.0)[1].admits_hand


def test_what_stands_at_other_heights_leaves_room():
    above = box("pier/shaft", (40, 0, 50), (50, 10, 90))
    assert openings(GLUE, [WALL, above])[1].room == np.inf


def test_what_stands_fast_counts_for_all():
    riser = {"riser": corners((12, 0, 0), (20, 10, 90))}
    first, second = openings(GLUE, [WALL, PIER], riser)
    assert (first.room, first.thing, first.is_part) == (pytest.approx(2.0), "riser", False)
    assert second.room == pytest.approx(20.0)
    assert first.tools == (("square", False), ("card", False))


def test_what_touches_is_no_opening():
    touching = {"base": corners((10.1, 0, 0), (20, 10, 50))}
    assert openings(GLUE[:1], [WALL], touching)[0].room == np.inf


def test_packing_is_work_at_the_cap():
    cap = box("pier/cap", (40, 0, 50), (50, 10, 54))
    other = box("wall/cap", (0, 0, 50), (20, 10, 54))
    steps = [step("glue", "wall/cap", "pier/cap"), step("pack/pier", "pier/span/left/packing")]
    found = openings(steps, [cap, other])
    assert [(o.step, o.part) for o in found] == [
        ("glue", "pier/cap"),
        ("glue", "wall/cap"),
        ("pack/pier", "pier/cap"),
    ]
    assert found[-1].room == pytest.approx(20.0)


def test_joints_of_a_span_are_not_openings():
    girder = box("span/girder left", (12, 0, 40), (38, 4, 48))
    steps = [*GLUE, step("set/span", "span/girder left")]
    assert openings(steps, [WALL, PIER, girder])[-1].room == np.inf


def test_of_a_long_part_only_the_sides_count():
    girder = box("span/girder left", (0, 0, 0), (100, 4, 8))
    ahead = {"stop": corners((103, 0, 0), (110, 4, 8))}
    beside = {"wire": corners((50, 20, 0), (52, 22, 8))}
    steps = [step("set/span", "span/girder left")]
    assert openings(steps, [girder], ahead)[0].room == np.inf
    assert openings(steps, [girder], ahead | beside)[0].room == pytest.approx(16.0)


def test_the_bench_and_footings_are_left_out():
    steps = [step("make/pier", "pier/shaft", phase=Phase.MAKE), step("glue", "pier/footing of shaft")]
    assert openings(steps, [PIER, box("pier/footing of shaft", (39, 0, 0), (51, 11, 2))]) == ()


def test_what_is_said():
    riser = {"riser": corners((15, 0, 0), (20, 10, 90))}
    (narrow,) = openings(GLUE[:1], [WALL], riser)
    (sentence,) = told_beside((narrow,))
    assert sentence.text == (
        "Least room beside {0}: {1}, to {2}: too little for a hand there; enough for: card; too little"
        " for: square."
    )
    assert [f.said for f in sentence.fillings] == [Said.PLACE, Said.ROUGH, Said.WORD]
    (free,) = told_beside(openings(GLUE[:1], [WALL]))
    assert free.text == "Nothing stands within {0}, a hand's room, beside what is worked at."
    assert told_beside(()) == ()


def test_a_tool_without_room_is_noted_once_a_part():
    riser = {"riser": corners((15, 0, 0), (20, 10, 90))}
    steps = [GLUE[0], step("trim", "wall/shaft", tools=("square", "knife"))]
    (note,) = beside_findings(openings(steps, [WALL], riser))
    assert (note.code, note.where, note.value, note.limit) == (
        "BU106",
        "wall/shaft",
        pytest.approx(5.0),
        20.0,
    )
    assert "no room beside it for square, which the step glue/wall asks for: 5 mm to riser" in note.text
    assert note.source == "common practice, no source"
    assert beside_findings(openings(GLUE, [WALL, PIER])) == ()


def test_every_tool_that_works_at_a_part_has_its_room(case):
    """Of the steps of setting that use pieces of the bridge."""
    build = with_room(built(case), case.structures, {}, hand=90.0)
    steps = [s for s in build.steps if s.phase in (Phase.SET, Phase.TRACK) and s.pieces]
    assert {tool for s in steps for tool in s.tools} <= set(TOOL_ROOM)
    for one in steps:
        assert any("a hand's room" in line.text or "Least room beside" in line.text for line in one.lines), (
            one.id
        )
