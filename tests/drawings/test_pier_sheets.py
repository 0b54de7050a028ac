"""Wraps, seat plans and jigs as drawn: true sizes, the builder's words, one page, no text upon another."""

import math
import re
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from checks import check_page

from spanwright.drawings.display import Path, Role, Text
from spanwright.drawings.frame import Stamp
from spanwright.drawings.printer import Printer
from spanwright.drawings.sheets.jig import jig_drawings
from spanwright.drawings.sheets.piers import pier_sheets, ratio
from spanwright.drawings.sheets.seats import seat_sheets
from spanwright.drawings.speech import Speech, Words
from spanwright.drawings.tiles import pages
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.parts.faces import face_patterns
from spanwright.parts.jigs import jig_sheets
from spanwright.parts.seats import seat_plans
from spanwright.structures.given import TrimEnd
from truth.build_cases import JOBS
from truth.shaft_cases import on_a_pier

STAMP = Stamp(job="Test", revision="1", made_from="made up")


@pytest.fixture(scope="module", params=["demo", "oo", "h0"])
def plan(request):
    return derive(replace(load_job(JOBS[request.param]), clearance=None))


@pytest.fixture(scope="module")
def say(plan):
    return Speech(words=plan.job.words, inputs=plan.inputs, k=plan.job.structures.k)


@pytest.fixture(scope="module")
def sheets(plan, say):
    given = plan.job.structures
    lines = tuple(plan.alignment.line(name) for name in (given.upper, given.lower))
    names = tuple(s.name for s in given.spans)[-2:]
    return (
        *pier_sheets(face_patterns(plan.inputs, plan.structures), say),
        *seat_sheets(seat_plans(plan.inputs, lines, plan.structures), say),
        *jig_drawings(jig_sheets((names,), plan.inputs, plan.structures), say),
    )


def words_of(sheet):
    return [i.text for i in sheet.items if isinstance(i, Text)] + list(sheet.notes) + [sheet.title]


def made_up(trim):
    case = on_a_pier(stock=66.0, trim=trim)
    say = Speech(
        words=Words(left="aisle", right="wall", start="town", finish="yard"), inputs=case.inputs, k=2.0
    )
    patterns = [p for p in face_patterns(case.inputs, case.structures) if p.support == "q"]
    return case, pier_sheets(tuple(patterns), say)[0]


def test_every_support_and_unit_has_its_sheet(plan, sheets):
    names = [s.given.name for s in plan.structures.supports]
    with_shaft = [s.given.name for s in plan.structures.supports if len(s.cuts) == 1]
    assert [s.id for s in sheets if s.id.startswith("wrap/")] == [f"wrap/{n}" for n in with_shaft]
    assert [s.id for s in sheets if s.id.startswith("seat/")] == [f"seat/{n}" for n in names]
    assert len([s for s in sheets if s.id.startswith("jig/")]) == 1
    assert all(s.true and s.side_up and s.scale == 1.0 for s in sheets)


def test_pages_are_sound(sheets):
    for sheet in sheets:
        found = pages(sheet, printer=Printer(), stamp=STAMP)
        if not sheet.id.startswith("jig/"):
            assert len(found) == 1, sheet.id
        for page in found:
            assert not check_page(page), sheet.id


@pytest.mark.parametrize("trim", list(TrimEnd))
def test_the_wrap_of_either_end_is_sound(trim):
    _, sheet = made_up(trim)
    (page,) = pages(sheet, printer=Printer(), stamp=STAMP)
    assert not check_page(page)
    kept = "foot" if trim is TrimEnd.TOP else "top"
    assert f"flush with its {kept}" in " ".join(sheet.notes)


def test_sides_and_ends_are_the_builder_s(sheets):
    for sheet in sheets:
        for text in words_of(sheet):
            assert not re.search(r"\b(left|right|start|finish)\b", text), (sheet.id, text)


def test_cautions_stand_where_it_can_hurt(sheets):
    said = {"wrap": ["mask", "eyes covered"], "jig": ["flames", "burn"]}
    for sheet in sheets:
        for text in said.get(sheet.id.partition("/")[0], []):
            assert text in " ".join(sheet.notes), sheet.id
        if "Drill" in " ".join(sheet.notes):
            assert "eyes covered" in " ".join(sheet.notes)


@pytest.mark.parametrize("trim", list(TrimEnd))
def test_the_cut_line_on_paper_is_as_long_as_round_the_shaft(trim):
    case, sheet = made_up(trim)
    runs = [i for i in sheet.items if isinstance(i, Path) and i.role is Role.CUT]
    (cut,) = runs
    lower = 66.0 - case.cut.length if trim is TrimEnd.TOP else case.cut.length  # below the top as it came
    widths = [8.0 + lower / 12.0, 18.0 + lower / 12.0] * 2
    found = [math.dist(a, b) for a, b in zip(cut.points, cut.points[1:], strict=False)]
    assert found == pytest.approx(widths, abs=1e-9)


def test_folds_are_edges_of_true_length():
    case, sheet = made_up(TrimEnd.FOOT)
    run = case.cut.length / 24.0
    folds = [i.points for i in sheet.items if isinstance(i, Path) and i.role is Role.FOLD]
    assert len(folds) == 4  # three between the faces, one at the lap
    for a, b in folds:
        assert math.dist(a, b) == pytest.approx(math.dist((0, 0, 0), (run, run, case.cut.length)), abs=1e-9)


def test_the_waste_is_hatched_and_only_the_waste():
    case, sheet = made_up(TrimEnd.FOOT)
    (cut,) = [i for i in sheet.items if isinstance(i, Path) and i.role is Role.CUT]
    rim = LineAbove(cut.points)
    hatch = [
        i.points
        for i in sheet.items
        if isinstance(i, Path) and i.role is Role.FINE and abs(_slope(i.points) - 1.0) < 1e-6
    ]
    assert len(hatch) > 10
    for run in hatch:
        assert all(y <= rim.at(x) + 1e-6 for x, y in run)
    # as long in all as lines of that distance need for the area that comes off all round
    area = sum(_area(f.waste) for f in face_patterns(case.inputs, case.structures)[1].faces)
    step = min(_apart(hatch[0], run) for run in hatch[1:])
    assert sum(math.dist(*run) for run in hatch) * step == pytest.approx(area, rel=0.05)


def _area(corners):
    x, y = corners.T
    return 0.5 * abs(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def _apart(a, b):
    """Distance of two lines at 45 degrees."""
    return abs((a[0][1] - a[0][0]) - (b[0][1] - b[0][0])) / math.sqrt(2.0)


class LineAbove:
    """A polyline as a height over x."""

    def __init__(self, points):
        self.x, self.y = np.array(points).T

    def at(self, x):
        return float(np.interp(x, self.x, self.y))


def _slope(points):
    (x0, y0), (x1, y1) = points[0], points[-1]
    return math.inf if x0 == x1 else (y1 - y0) / (x1 - x0)


def test_drill_crosses_stand_as_far_apart_as_the_bearings(plan, sheets):
    for fitted in plan.structures.supports:
        (sheet,) = [s for s in sheets if s.id == f"seat/{fitted.given.name}"]
        crosses = [i.points for i in sheet.items if isinstance(i, Path) and i.role is Role.CUT]
        at = [np.mean(points, axis=0) for points in crosses]
        drilled = [p for k, p in enumerate(at) if k % 2 == 0]  # two strokes a cross
        bearings = [b for b in plan.structures.bearings if b.support == fitted.given.name]
        if fitted.seats[0].edge is None:
            assert drilled == []
            continue
        true = drilled[: len(bearings)]  # the full-size figure comes first
        assert len(drilled) == 2 * len(true)
        scale = {
            round(math.dist(drilled[a + len(true)], drilled[b + len(true)]) / math.dist(true[a], true[b]), 6)
            for a, b in combinations(range(len(true)), 2)
        }
        assert len(scale) == 1
        for a, b in combinations(range(len(true)), 2):
            there = math.hypot(
                float((bearings[a].x - bearings[b].x).value), float((bearings[a].y - bearings[b].y).value)
            )
            assert math.dist(true[a], true[b]) == pytest.approx(there, abs=1e-9)
        (said,) = [t for t in words_of(sheet) if t.startswith("Enlarged")]
        assert float(said.split()[1]) == pytest.approx(scale.pop(), abs=1e-6)


def test_girders_on_the_board_are_full_size(plan, sheets):
    (sheet,) = [s for s in sheets if s.id.startswith("jig/")]
    outlines = [
        i.points for i in sheet.items if isinstance(i, Path) and i.role is Role.OUTLINE and len(i.points) == 4
    ]
    spans = plan.structures.spans[-2:]
    assert len(outlines) == 4
    for k, corners in enumerate(outlines):
        sides = sorted(math.dist(corners[n], corners[(n + 1) % 4]) for n in range(4))
        assert sides[2:] == pytest.approx([float(spans[k // 2].axis.length.value)] * 2, abs=1e-9)


def test_a_batter_is_said_as_a_ratio():
    assert ratio(math.tan(math.atan(1.0 / 24.0))) == "1:24"
    assert ratio(0.0) == "none"
