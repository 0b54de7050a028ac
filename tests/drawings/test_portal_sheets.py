"""The drawing of a portal measured back: faces, dimensions, sweep, closest points."""

import itertools

import numpy as np
import pytest
import shapely

from spanwright.book.words import speech
from spanwright.drawings.display import Circle, Path, Text, text_box
from spanwright.drawings.draughting import fonts
from spanwright.drawings.sheets.arrangement.silhouette import fits
from spanwright.drawings.sheets.portals import portal_sheets
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.job import derive

PORTALS = """
[[portals]]
name   = "mouth"
line   = "upper"
mark   = "b3"
along  = { town = "3", yard = "3" }
by     = "to be built"
clear  = { aisle = "14", wall = "13" }
height = "36"

[[portals]]
name   = "cutting"
line   = "lower"
mark   = "a3"
along  = { town = "10", yard = "10" }
by     = "caliper"
clear  = { wall = "40" }
"""


@pytest.fixture(scope="module")
def drawn():
    text = template_text()
    start, end = text.index("[bridge]"), text.index("[clearance]")
    plan = derive(job_of(text[:start] + text[end:] + PORTALS, "job.toml"))
    return plan, portal_sheets(
        plan.job.portals, plan.portals, plan.alignment, plan.job.clearance, plan.clearance, say=speech(plan)
    )


def areas(sheet, **wanted):
    found = [i for i in sheet.items if isinstance(i, Path) and i.closed and len(i.points) > 3]
    return [
        shapely.Polygon(i.points)
        for i in found
        if all(getattr(i, key) == value for key, value in wanted.items())
    ]


def test_one_sheet_each_that_fits_its_page(drawn):
    _, sheets = drawn
    assert [s.id for s in sheets] == ["portal/mouth", "portal/cutting"]
    assert all(fits(s) and not s.true and s.scale in (5.0, 2.0, 1.0, 0.5) for s in sheets)
    assert sheets[0].title == "mouth, line upper, looking towards yard"


def test_the_opening_is_drawn_to_scale_left_on_the_left(drawn):
    _, (mouth, _) = drawn
    blocks = areas(mouth, fill=1.0)
    assert len(blocks) == 3
    k = mouth.scale
    left, right = (b for b in sorted(blocks, key=lambda b: b.centroid.x) if b.bounds[1] < 0.0)
    lintel = max(blocks, key=lambda b: b.bounds[1])
    assert left.bounds[2] == pytest.approx(-14.0 * k, abs=1e-6)
    assert right.bounds[0] == pytest.approx(13.0 * k, abs=1e-6)
    assert lintel.bounds[1] == pytest.approx(36.0 * k, abs=1e-6)


def test_its_sizes_are_dimensioned_with_their_doubt(drawn):
    _, (mouth, cutting) = drawn
    said = [t.text for t in mouth.items if isinstance(t, Text)]
    assert {"14.0 ± 1.0", "13.0 ± 1.0", "36.0 ± 1.0", "aisle", "wall"} == set(said)
    assert "40.00 ± 0.10" in [t.text for t in cutting.items if isinstance(t, Text)]


def test_the_sweep_stands_off_each_face_by_about_the_gap(drawn):
    """A section has no ends of trains that lead or trail: it stands hardly further off than they do."""
    plan, (mouth, _) = drawn
    (swept,) = areas(mouth, fill=0.9)
    blocks = areas(mouth, fill=1.0)
    gaps = [float(g.gap.value) for g in plan.clearance.gaps if g.part.startswith("mouth/")]
    seen = sorted(swept.distance(b) / mouth.scale for b in blocks)
    assert np.array(seen) == pytest.approx(sorted(gaps), abs=0.05)


def test_closest_points_lie_on_the_faces(drawn):
    _, (mouth, _) = drawn
    points = [shapely.Point(c.centre) for c in mouth.items if isinstance(c, Circle)]
    blocks = [b.boundary for b in areas(mouth, fill=1.0)]
    assert len(points) == 3
    assert all(min(b.distance(p) for b in blocks) < 0.05 * mouth.scale for p in points)


def test_notes_tell_each_gap_with_its_word(drawn):
    plan, (mouth, cutting) = drawn
    for gap in plan.clearance.gaps:
        sheet = mouth if gap.part.startswith("mouth/") else cutting
        assert any(gap.verdict.value in n and gap.vehicle in n for n in sheet.notes)
    assert any(n.startswith("cutting, wall jamb: gap over ") for n in cutting.notes)


def test_no_text_stands_upon_another(drawn):
    for sheet in drawn[1]:
        boxes = [
            shapely.Polygon(text_box(t, fonts.width(t.text, t.size, bold=t.bold)))
            for t in sheet.items
            if isinstance(t, Text)
        ]
        assert all(a.intersection(b).area < 1e-6 for a, b in itertools.combinations(boxes, 2))


def test_without_trains_the_opening_is_drawn_alone(drawn):
    plan, _ = drawn
    sheets = portal_sheets(plan.job.portals, plan.portals, plan.alignment, None, None, say=speech(plan))
    assert not areas(sheets[0], fill=0.9)
    assert len(areas(sheets[0], fill=1.0)) == 3
