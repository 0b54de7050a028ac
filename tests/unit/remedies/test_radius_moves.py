"""A larger radius takes away throw where a line is designed; a line that lies keeps its curve."""

import pytest

from spanwright.book.trains.remedies_text import left_out
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Verdict
from spanwright.job import derive
from spanwright.remedies.kinds.lines import laid_lines
from spanwright.remedies.moves import moves_for
from spanwright.remedies.solve import find_remedies, plan_room

RADIUS, TRUCKS, HALF = 250.0, 84.0, 9.75
DESIGN = """
[lines.branch]
by        = "caliper"
track     = "flexible"
gauge     = "9.02"
rail_head = "0.6"
start     = ["0", "0"]
heading   = "0 deg"
elements  = [
  { kind = "tangent", length = "150" },
  { kind = "arc", length = "200", radius = "250", turn = "aisle" },   # as drawn
  { kind = "tangent", length = "150" },
]
heights   = [ { along = "0", height = "20" }, { along = "500", height = "20" } ]

"""
WALL = """
[[portals]]
name  = "cutting"
line  = "branch"
along = { town = "-247", yard = "253" }
by    = "caliper"
clear = { aisle = "CLEAR" }
"""


def job_text(clear):
    """A branch that is drawn, with a wall inside its curve; no bridge."""
    text = template_text()
    start, end = text.index("[bridge]"), text.index("[clearance]")
    text = text[:start] + text[end:]
    layers = text.index("[layers]")
    text = text[:layers] + DESIGN + text[layers:]
    assert 'runs_on = ["lower", "upper"]' in text
    return text.replace('runs_on = ["lower", "upper"]', 'runs_on = ["branch"]') + WALL.replace("CLEAR", clear)


@pytest.fixture(scope="module")
def tight():
    text = job_text("15.4")
    plan = derive(job_of(text, "job.toml"))
    (gap,) = plan.clearance.gaps
    return text, plan, gap


def test_the_gap_is_that_of_the_throw(tight):
    """In the middle between its trucks the body stands a^2 / 8R nearer to the inner wall."""
    *_, gap = tight
    throw = TRUCKS**2 / (8.0 * RADIUS)
    rocking = 0.3 + 0.0087 * 29.0
    assert gap.side == "left"
    assert float(gap.gap.value) == pytest.approx(15.4 - HALF - throw - rocking, abs=0.1)
    assert gap.verdict is not Verdict.CLEAR


def test_the_radius_grows_by_what_is_missing(tight):
    text, plan, gap = tight
    found = {r.move.id: r for r in find_remedies(text, "job.toml", plan, gap)}
    larger = found["branch/radius"]
    assert larger.by == int(larger.by)
    assert f'radius = "{RADIUS + larger.by:g} mm", turn = "aisle" }},   # as drawn' in larger.text
    gained = TRUCKS**2 / 8.0 * (1.0 / RADIUS - 1.0 / (RADIUS + larger.by))
    assert gained == pytest.approx(-plan_room(gap, plan), rel=0.2, abs=0.05)
    again = derive(job_of(larger.text, "job.toml"))
    assert again.clearance.gaps[0].verdict is Verdict.CLEAR
    less = derive(job_of(larger.move.edit(text, larger.by - larger.move.step), "job.toml"))
    assert less.clearance.gaps[0].verdict is not Verdict.CLEAR


def test_a_third_more_is_the_most(tight):
    _, plan, gap = tight
    (move,) = (m for m in moves_for(gap, plan.job, plan.inputs) if m.id == "branch/radius")
    assert move.most == 83.0
    narrow = job_text("13.5")
    plan = derive(job_of(narrow, "job.toml"))
    found = find_remedies(narrow, "job.toml", plan, plan.clearance.gaps[0])
    assert "branch/radius" not in {r.move.id for r in found}


def test_the_arc_nearest_to_the_gap_is_the_one():
    two = '  { kind = "arc", length = "60", radius = "900", turn = "wall" },\n'
    text = job_text("15.4").replace('  { kind = "tangent", length = "150" },\n]', f"{two}]")
    plan = derive(job_of(text, "job.toml"))
    (move,) = (m for m in moves_for(plan.clearance.gaps[0], plan.job, plan.inputs) if m.id == "branch/radius")
    assert "(250 mm now)" in move.cost


def test_a_line_that_lies_keeps_its_curve(tight):
    _, plan, gap = tight
    assert laid_lines((gap,), plan.job) == ()
    assert left_out((gap,), plan.job) == []
    text = job_text("15.4").replace('runs_on = ["branch"]', 'runs_on = ["upper"]')
    wall = (
        text.replace('line  = "branch"', 'line  = "upper"\nmark  = "b4"')
        .replace("-247", "3")
        .replace("253", "3")
    )
    laid = derive(job_of(wall, "job.toml"))
    (gap,) = laid.clearance.gaps
    assert not any("radius" in m.id for m in moves_for(gap, laid.job, laid.inputs))
    assert "line upper is laid" in str(left_out((gap,), laid.job))
