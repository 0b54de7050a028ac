"""The cut pattern as it is drawn: true to the plan, mirrored about its pilot holes, words clear of words."""

from dataclasses import replace

import numpy as np
import pytest
from checks import box_of, check_page, overlaps

from spanwright.drawings.display import Circle, Path, Role, Text, mirrored
from spanwright.drawings.frame import Stamp
from spanwright.drawings.printer import Printer
from spanwright.drawings.sheets.board.tables import CHECK_COLUMNS, check_rows, ordinate_columns, ordinate_rows
from spanwright.drawings.sheets.opening import TOP_TITLE, UNDERSIDE_TITLE, opening_sheets
from spanwright.drawings.speech import Speech
from spanwright.drawings.tiles import pages
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.parts.opening import open_board
from truth import demo

JOBS = demo.HERE.parents[1] / "jobs"
ON_PAPER = 0.01


def opened(folder, **more):
    job = replace(load_job(folder), clearance=None)
    plan = derive(job)
    inputs = plan.inputs
    board = load_job(demo.SHIPPED.parent).parts.subroadbed
    if job.parts.subroadbed is None:  # the sizes of the demo's board, for a job that opens none
        sized = replace(board, thickness=job.structures.tie, obstructions=(), pilots=(), ties=None)
        job = replace(job, parts=replace(job.parts, subroadbed=replace(sized, slot=3.5)))
    board = replace(job.parts.subroadbed, **more)
    upper = job.structures.upper
    laid = next(x for x in plan.alignment.lines if x.line.name == upper)
    line_input = next(x for x in job.lines if x.name == upper)
    found = open_board(
        board, inputs, laid, plan.structures, plan.survey, line_input=line_input, bridge=job.structures
    )
    return found, Speech(words=job.words, inputs=inputs, k=job.structures.k)


@pytest.fixture(scope="module", params=["demo", "oo", "h0"])
def case(request):
    folder = demo.SHIPPED.parent if request.param == "demo" else JOBS / request.param
    found, say = opened(folder)
    return found, say, opening_sheets(found, say)


@pytest.fixture(scope="module")
def shipped():
    found, say = opened(demo.SHIPPED.parent)
    return found, say, opening_sheets(found, say)


def rings(sheet, role):
    return [np.array(i.points) for i in sheet.items if isinstance(i, Path) and i.role is role and i.closed]


def area(ring):
    x, y = ring.T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))


def between(points):
    """All distances of all pairs of points: what stays when a sheet is turned, moved or turned over."""
    return np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))


@pytest.mark.parametrize("number", [0, 1])
def test_outlines_equal_the_plan(case, number):
    found, _, sheets = case
    sheet = sheets[number]
    for role, plan in ((Role.CUT, found.saw.value), (Role.REFERENCE, found.outline.corners.value)):
        (ring,) = [r for r in rings(sheet, role) if len(r) == len(plan)]
        np.testing.assert_allclose(between(ring), between(plan), atol=ON_PAPER)
        # seen from above the way round is that of the layout, from below it is the other
        assert np.sign(area(ring)) == np.sign(area(plan)) * (1.0 if number == 0 else -1.0)


def test_slots_equal_the_rails(case):
    found, _, sheets = case
    slots = [i for i in sheets[0].items if isinstance(i, Path) and i.fill is not None and len(i.points) > 10]
    assert len(slots) == 2
    for slot, plan in zip(slots, found.track.slots, strict=True):
        np.testing.assert_allclose(between(np.array(slot.points)), between(plan), atol=ON_PAPER)
    saw, reference = rings(sheets[0], Role.CUT)[0], found.saw.value
    first = np.array(slots[0].points)
    np.testing.assert_allclose(  # and they lie to the saw line as they do on the layout
        np.hypot(*(first[0] - saw).T), np.hypot(*(found.track.slots[0][0] - reference).T), atol=ON_PAPER
    )


def holes(sheet):
    return [i for i in sheet.items if isinstance(i, Circle)]


def test_pilot_holes_lie_to_the_outline_as_on_the_layout(case):
    found, _, sheets = case
    for sheet in sheets[:2]:
        saw = rings(sheet, Role.CUT)[0]
        for hole, pilot in zip(holes(sheet), found.pilots, strict=True):
            at = np.array([float(pilot.x.value), float(pilot.y.value)])
            np.testing.assert_allclose(
                np.hypot(*(np.array(hole.centre) - saw).T), np.hypot(*(at - found.saw.value).T), atol=ON_PAPER
            )
            assert hole.radius == 0.5 * pilot.drill


def test_the_underside_is_the_mirror_image_about_the_pilot_holes(case):
    _, _, (top, underside, *_) = case
    about = float(np.mean([h.centre[0] for h in holes(top)]))
    turned = mirrored(top.items, about=about)
    for role in (Role.CUT, Role.REFERENCE):
        wanted = [i for i in turned if isinstance(i, (Path, Circle)) and i.role is role]
        got = [i for i in underside.items if isinstance(i, (Path, Circle)) and i.role is role]
        assert len(wanted) == len(got) > 0
        for a, b in zip(wanted, got, strict=True):
            if isinstance(a, Path):
                np.testing.assert_allclose(a.points, b.points, atol=1e-9)
            else:
                np.testing.assert_allclose(a.centre, b.centre, atol=1e-9)
    assert (top.twin, underside.twin) == (UNDERSIDE_TITLE, TOP_TITLE)
    assert top.side_up
    assert underside.side_up
    assert not [i for i in underside.items if isinstance(i, Path) and i.fill == 0.88]  # no slots from below


def test_both_patterns_name_sides_and_ends_in_the_builders_words(case):
    _, say, sheets = case
    for sheet in sheets[:2]:
        texts = {i.text for i in sheet.items if isinstance(i, Text)}
        words = say.words
        assert {
            f"{words.left} side",
            f"{words.right} side",
            f"to {words.start}",
            f"to {words.finish}",
        } <= texts
        assert not any(t for t in texts if "left" in t.split() or "right" in t.split())


def test_marks_and_obstructions_are_named(shipped):
    found, _, (top, underside, *_) = shipped
    texts = [i.text for i in top.items if isinstance(i, Text)]
    assert {t.name for t in found.track.ticks} <= set(texts)
    for sheet in (top, underside):
        said = " ".join(i.text for i in sheet.items if isinstance(i, Text))
        for thing in found.obstructions:
            assert thing.given.name in said


def test_no_text_lies_on_another(case):
    for sheet in case[2]:
        assert sheet.items
        assert list(overlaps([box_of(i) for i in sheet.items if isinstance(i, Text) and i.text])) == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_pages_are_sound_and_tables_at_full_size(case, paper):
    stamp = Stamp(job="test", revision="1", made_from="readings")
    for sheet in case[2]:
        for page in pages(sheet, printer=Printer(paper=paper), stamp=stamp):
            assert check_page(page) == []
            words = [i.text for i in page.items if isinstance(i, Text)]
            # a table is read as it stands; only a pattern's plan of its tiles is smaller
            assert sheet.true or not any("scale 1:" in w and w != "scale 1:1" for w in words)


def test_a_long_table_goes_on_a_second_sheet():
    found, say = opened(demo.SHIPPED.parent, every=5.0)
    sheets = opening_sheets(found, say)
    tables = [s for s in sheets if "ordinates" in s.id]
    assert len(tables) > 1
    assert len({s.id for s in sheets}) == len(sheets)
    texts = [i.text for s in tables for i in s.items if isinstance(i, Text)]
    for row in ordinate_rows(found, say):
        assert row[2] in texts
    stamp = Stamp(job="test", revision="1", made_from="readings")
    for sheet in tables:
        (page,) = pages(sheet, printer=Printer(), stamp=stamp)
        assert "not to scale" in [i.text for i in page.items if isinstance(i, Text)]


def test_every_number_of_the_table_is_the_plans(case):
    found, say, _ = case
    rows = ordinate_rows(found, say)
    per = 25.4 if say.unit == "in" else 1.0
    assert len(rows) == len(found.ordinates)
    for cells, row in zip(rows, found.ordinates, strict=True):
        assert len(cells) == len(ordinate_columns(found, say))
        assert float(cells[1].split()[0]) * per == pytest.approx(float(row.along.value), abs=0.06)
        for cell, number in zip(
            cells[2:], (row.finished_left, row.saw_left, row.finished_right, row.saw_right), strict=True
        ):
            size, give = cell.split(" ± ")
            assert float(size) * per == pytest.approx(float(number.value), abs=0.06)
            assert float(give) * per == pytest.approx(say.k * say.doubt(number), rel=0.06)


def test_what_lies_off_the_board_is_said():
    found, say = opened(demo.SHIPPED.parent, edge_left=15.0)
    rows = ordinate_rows(found, say)
    assert all(row[2:4] == ("off the board", "off the board") for row in rows[1:-1])
    assert all("±" in row[4] for row in rows)


def test_distances_have_limits_and_a_blank(shipped):
    found, say, _ = shipped
    rows = check_rows(found, say)
    assert len(rows) == 3
    for cells, check in zip(rows, found.checks, strict=True):
        assert len(cells) == len(CHECK_COLUMNS)
        low, high = float(cells[3]), float(cells[4])
        assert 0.5 * (low + high) == pytest.approx(float(check.value.value), abs=0.06)
        assert 0.5 * (high - low) == pytest.approx(check.limit, abs=0.06)
        assert cells[5] == ""
    assert any("diagonal" in cells[0] for cells in rows)


def test_cautions_stand_with_the_saw(case):
    for sheet in case[2]:
        said = " ".join(sheet.notes)
        for word in ("power off", "wires", "eye", "rolling stock", "strongback"):
            assert word in said, (sheet.id, word)


def test_an_inch_job_speaks_inches():
    found, say = opened(JOBS / "oo")
    top = opening_sheets(found, say)[0]
    assert say.unit == "in"
    said = [*top.notes, *(i.text for i in top.items if isinstance(i, Text))]
    assert not any(" mm" in text for text in said)


def test_without_pilot_holes_there_is_no_underside():
    found, say = opened(demo.SHIPPED.parent)
    sheets = opening_sheets(replace(found, pilots=found.pilots[:1]), say)
    assert [s.id for s in sheets] == ["pattern/opening top", "pattern/opening ordinates"]
    assert sheets[0].twin == ""
