"""The work as a plan, as text: what is told of evenings, and of tonight."""

from dataclasses import replace

import pytest

from spanwright.book.blocks import Heading, Paragraph, Table
from spanwright.book.words import speech
from spanwright.book.working.plan_text import how_long, plan_text, summary
from spanwright.book.working.tonight_text import tonight_text
from spanwright.build.planning.given import BuildInput
from spanwright.build.stage import plan_build
from spanwright.parts.given import PartsInput

pytestmark = pytest.mark.slow


@pytest.fixture
def demo(books):
    return books("demo").plan


def built(plan, **asked):
    job = plan.job
    lower = next(x for x in job.lines if x.name == job.structures.lower)
    given = (job.structures, job.parts or PartsInput(), plan.inputs, plan.structures, plan.clearance)
    return plan_build(*given, lower=lower, asked=BuildInput(**asked))


def told(blocks):
    found = {}
    for block in blocks:
        if isinstance(block, Heading):
            here = found.setdefault(block.title, [])
        elif isinstance(block, Paragraph) and found:
            here.append(block.text)
    return found


def test_a_time_is_said_in_its_unit():
    assert [how_long(h) for h in (0.0, 1 / 12, 1.4, 1.5, 48.0, 60.0)] == [
        "0 min", "5 min", "84 min", "1.5 h", "48 h", "2.5 days",
    ]  # fmt: skip


def test_the_table_has_a_row_for_each_evening_s_part_of_each_task(demo):
    build = built(demo)
    (table,) = (b for b in plan_text(build, speech(demo)) if isinstance(b, Table))
    assert len(table.rows) == len(build.schedule.slots)
    assert [int(row[0]) for row in table.rows] == sorted(int(row[0]) for row in table.rows)
    float_of = {row[1]: row[-1] for row in table.rows}
    assert float_of["1. Settle what is not proven, before anything is cut"] == "none"
    assert any(row[-1] != "none" for row in table.rows)


def test_the_summary_says_that_it_is_a_rule_of_thumb_and_how_far_it_may_be_off(demo):
    schedule = built(demo).schedule
    said = " ".join(b.text for b in summary(schedule))
    for words in (f"{schedule.evenings} evenings", f"fewer than {schedule.least}", "rule of thumb"):
        assert words in said
    proven = replace(schedule, least=schedule.evenings)
    said = " ".join(b.text for b in summary(proven))
    assert "and no order can do with fewer." in said
    assert "rule of thumb" not in said


def test_tonight_names_what_must_be_measured_first_and_what_waits_for_it(demo):
    found = told(tonight_text(built(demo), speech(demo)))
    first = found["Measure first"]
    assert first[0].startswith("* bent: settle 2 gaps")
    assert first[1].startswith("Until then wait: steps 1, ")
    added = found["When it is done, add to [build] in the job file"]
    assert "only that settles a gap" in added[0]
    assert added[1] == 'to done: "settle", "calibrate"'


def test_tonight_says_cautions_readings_with_their_limits_and_cures(demo):
    keys = [t.id for t in built(demo).schedule.tasks]
    build = built(demo, done=tuple(keys[: keys.index("glue/town abutment")]))
    found = told(tonight_text(build, speech(demo)))
    here = found["Tonight, 2 h"]
    assert here[0].startswith("* ")
    assert "(30 min, then wait 24 h: glue)" in here[0]
    assert any(line.startswith("CAUTION: ") for line in here)
    assert any("top of its cap, from base at g1; depth rod; planned " in line for line in here)
    assert any(", passes " in line for line in here)
    assert "go on with it in evening 2" in found["Cures overnight"][0]
    added = found["When it is done, add to [build] in the job file"]
    assert '"read/glue/town abutment"' in added[0]
    assert added[1].endswith('"glue/town abutment" = "24 h"')


def test_nothing_can_be_begun_while_all_waits_for_a_cure(demo):
    keys = [t.id for t in built(demo).schedule.tasks]
    build = built(demo, done=tuple(keys[: keys.index("paint")]), curing=(("paint", 20.0),))
    found = told(tonight_text(build, speech(demo)))
    assert found["Tonight, 2 h"] == ["Nothing can be begun tonight: wait for what cures."]
    assert "paint, 20 h" in found["Cures overnight"][0]


def test_when_all_is_done_that_is_all_that_is_said(demo):
    keys = tuple(t.id for t in built(demo).schedule.tasks)
    build = built(demo, done=keys)
    assert [b.text for b in tonight_text(build, speech(demo))] == ["All is done."]
    assert plan_text(build, speech(demo)) == []
