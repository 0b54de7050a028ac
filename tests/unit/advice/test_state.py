"""What is offered to be read can be read: not under glue, not before it is made, not on rails that hang."""

from dataclasses import replace

import numpy as np
import pytest

from spanwright.advice.candidates import chord_of, common_candidates, own_candidates, plain_id
from spanwright.advice.state import work_state
from spanwright.files.entries import with_reading
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.measured.numbers import find, readable

pytestmark = pytest.mark.slow
#: What is read at the rails goes into the survey, with its marks.
_SURVEY = ("versine/", "cross level/")


def offered(plan):
    return {c.id: c for c in common_candidates(plan, work_state(plan))}


def own(plan, part):
    state = work_state(plan)
    gap = next(g for g in plan.clearance.gaps if g.part == part and not g.beyond_reach)
    chord = next(chord_of(r.vehicle) for r in plan.job.clearance.runs if r.vehicle.id == gap.vehicle)
    return {c.id: c for c in own_candidates(plan, gap, chord, state)}, gap


def test_before_anything_is_made(plan):
    found = offered(plan)
    assert "before the shaft is cut" in found["pier 1/shaft/railhead over base"].text
    assert found["supports/pier 1/cut"].later == "when it is made"
    assert found["supports/bent/clear/left"].later == "when the columns stand"
    assert found["spans/span A/handrail/offset"].later == "when it is made"
    assert found["layers/roadbed"].later == ""
    assert found["layers/roadbed"].tool == "a caliper"
    assert "layers/rail" not in found  # known as well as a caliper can
    assert "bent/soffit over lower railhead" not in found


def test_how_well_is_told_by_the_tools_of_the_job(plan):
    """A block that is off in itself, the same in all its readings, tells no more than that."""
    assert offered(plan)["pier 1/shaft/railhead over base"].sd == 0.2  # as the table of tools has it
    own_tools = plan.job.tools | {"stepped block": 0.78}
    other = replace(plan, job=replace(plan.job, tools=own_tools))
    assert offered(other)["pier 1/shaft/railhead over base"].sd == 0.78
    text = template_text().replace("[tools]", '[tools]\n"stepped block" = { sd = "0.6", zero = "0.5" }', 1)
    assert job_of(text, "job.toml").tools["stepped block"] == pytest.approx(np.hypot(0.6, 0.5))


def test_a_block_over_the_base_only_while_it_is_free(worked):
    cut = offered(worked([("pier 1", "cut"), ("bent", "cut")]))
    assert "before" not in cut["pier 1/shaft/railhead over base"].text
    assert cut["supports/pier 1/cut"].later == ""
    assert cut["supports/pier 1/footing"].later == ""
    up = offered(worked([("pier 1", "dry-fitted"), ("bent", "dry-fitted")]))
    assert not [key for key in up if key.startswith(("pier 1/", "bent/")) and "base" in key]
    assert up["bent/soffit over lower railhead"].later == ""
    assert up["supports/bent/clear/left"].later == ""


def test_what_is_glued_in_is_not_calipered_and_its_base_is_covered(plan, worked):
    glued = offered(worked([("pier 1", "built")]))
    assert not [key for key in glued if key.startswith("supports/pier 1/") and "set_out" not in key]
    readings = {r.id: r for r in plan.job.survey.readings}
    on_base = {key for key, r in readings.items() if "g2" in r.marks}
    assert on_base
    assert not on_base & set(glued)
    assert on_base <= set(offered(plan))


def test_a_support_that_was_spoiled_is_to_be_made_anew(worked):
    found = offered(worked([("pier 1", "spoiled")]))
    assert "before the shaft is cut" in found["pier 1/shaft/railhead over base"].text


def test_the_gap_itself_once_the_part_stands(plan, worked):
    found, gap = own(plan, "bent/cap")
    assert gap.id not in found
    found, gap = own(worked([("bent", "dry-fitted")]), "bent/cap")
    assert found[gap.id].tool == "feelers"


def test_nothing_on_rails_that_hang(plan, worked):
    open_board = worked(done=["board/saw"])
    found = offered(open_board)
    assert not [key for key in found if key.startswith("crossing/")]
    assert not [key for key in found if key.endswith("/railhead over base")]
    readings = {r.id: r for r in plan.job.survey.readings}
    over = {key for key, r in readings.items() if "b7" in r.marks}
    assert over
    assert not over & set(found)
    assert "versine/upper" in own(plan, "span C/handrail left")[0]
    assert "versine/upper" not in own(open_board, "span C/handrail left")[0]
    assert "versine/lower" in own(open_board, "bent/column left")[0]


def test_what_is_named_can_be_entered_by_its_name(plan, worked):
    """As a reading of the plan, with the derivatives that its promise rests on; repeats are survey."""
    readings = set(plan.survey.reading_ids)
    for now in (plan, worked([("bent", "dry-fitted")])):
        known = readable(now.survey, now.alignment, now.structures, now.clearance)
        named = {**offered(now), **own(now, "bent/cap")[0]}
        named = {k: c for k, c in named.items() if plain_id(c) not in readings and not k.startswith(_SURVEY)}
        assert len(named) > 30
        for key, candidate in named.items():
            number = find(known, key, now.job.words, where="test")
            np.testing.assert_array_equal(
                number.jac, np.pad(candidate.jac, (0, number.jac.size - candidate.jac.size))
            )


def test_the_command_takes_a_height_that_is_named():
    """Its name holds no word that parts a reading."""
    entry = "bent, wall column, lower railhead over base = 11.9 mm by stepped block"
    written = with_reading("", entry)
    assert "lower railhead over base" in written
    assert "above" not in written
