"""A tool's own zero and scale are in all its readings: those of the survey, and those of what was made."""

from dataclasses import replace

import numpy as np
import pytest

from spanwright.estimation import derived as dv
from spanwright.estimation.condition import learn
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.job import derive
from spanwright.measured.numbers import names_gap, number_read, readable, shown

pytestmark = pytest.mark.slow

ZERO, SCALE, SD = 0.2, 0.004, 0.05
ENTRY = '\n[[measured]]\nwhat = "{what}"\nis = "{value:.6f} mm"\nby = "{by}"\nabove = "{above}"\n'


def with_errors(tool, said):
    """The template with a tool whose zero or scale is off, the same in all its readings."""
    lines = template_text().splitlines()
    at = next(k for k, line in enumerate(lines) if line.split("=")[0].strip() == tool)
    return "\n".join([*lines[:at], f"{tool} = {said}", *lines[at + 1 :]]) + "\n"


CALIPER = with_errors("caliper", f'{{ sd = "{SD}", zero = "{ZERO}", scale = "{100 * SCALE} %" }}')


def entry(what, value, by="caliper", above=""):
    return ENTRY.format(what=what, value=value, by=by, above=above)


def plan_of(*texts):
    return derive(job_of("".join(texts), "job.toml"))


def numbers_of(plan):
    return readable(plan.survey, plan.alignment, plan.structures, plan.clearance)


@pytest.fixture(scope="module")
def first():
    return plan_of(CALIPER)


@pytest.fixture(scope="module")
def seats(first):
    """The same number at both ends of the bridge."""
    bearings = first.structures.bearings
    return [f"{bearings[k].id}/railhead wanted" for k in (0, -1)]


def test_its_errors_are_base_inputs_once_whatever_is_read_with_it(seats):
    job = job_of(CALIPER + entry(seats[0], 50.0) + entry(seats[1], 50.0), "job.toml")
    shared = [(item.id, item.sd) for item in job.inputs.items if item.id.startswith("tool/caliper")]
    assert shared == [("tool/caliper/scale", pytest.approx(SCALE)), ("tool/caliper/zero", ZERO)]
    assert job.measured[0].sd == SD  # by itself
    assert job.measured[0].tool_errors == (("tool/caliper/scale", 50.0), ("tool/caliper/zero", 1.0))
    assert job.measured[0].doubt == pytest.approx(np.sqrt(SD**2 + ZERO**2 + (50 * SCALE) ** 2))
    assert not job_of(CALIPER, "job.toml").inputs.items[-1].id.startswith("tool")


def test_a_tool_that_the_survey_used_shares_the_survey_s_input(seats):
    """The template's tape has a scale; the survey's own estimate of it is what an as-built reading takes."""
    plan = plan_of(template_text(), entry("P2/x", 400.0, by="tape"))
    assert [i.id for i in plan.inputs.items].count("tool/tape/scale") == 1
    known = numbers_of(plan)
    assert known["tool/tape/scale"].value == plan.survey.value("tool/tape/scale").value
    assert np.count_nonzero(known["tool/tape/scale"].jac) > 10


def test_reading_twice_with_one_tool_does_not_take_its_zero_away(first, seats):
    """Closed form: n readings of one thing have the doubt sd / sqrt(n), and once the tool's own."""
    key = seats[0]
    row = numbers_of(first)[key]
    value, before = float(row.value), float(row.sd(first.inputs.spread))
    after = plan_of(CALIPER, *(entry(key, value + by) for by in (-0.001, 0.0, 0.001)))
    tool = np.hypot(ZERO, SCALE * value)
    read = np.hypot(tool, SD / np.sqrt(3))
    assert all(t.used for t in after.choices.taught.tested)
    u = float(numbers_of(after)[key].sd(after.inputs.spread))
    assert u == pytest.approx(before * read / np.hypot(before, read), rel=2e-3)


def test_two_readings_by_one_tool_tell_what_lies_between_them_better_than_either(first, seats):
    """The zero falls out of a difference; two tools that are as far off do not do that."""
    known = numbers_of(first)
    entries = [entry(key, float(known[key].value)) for key in seats]
    one = plan_of(CALIPER, *entries)
    whole = f'sd = "{np.sqrt(SD**2 + ZERO**2 + (SCALE * float(known[seats[0]].value)) ** 2):.4f} mm"\n'
    other = plan_of(template_text(), *(text + whole for text in entries))

    def u(plan):
        now = numbers_of(plan)
        return float((now[seats[1]] - now[seats[0]]).sd(plan.inputs.spread))

    assert u(one) < 0.9 * u(other)


def test_the_test_of_a_reading_knows_what_the_tool_has_shown_before(first, seats):
    """Two readings off by the same are one error of the tool; off to either side they are not."""
    known = numbers_of(first)
    off = 3.0 * ZERO
    misses = {}
    for sign in (1.0, -1.0):
        entries = [entry(k, float(known[k].value) + off * s) for k, s in zip(seats, (1.0, sign), strict=True)]
        misses[sign] = abs(plan_of(CALIPER, *entries).choices.taught.tested[1].misses)
    assert misses[-1.0] > 1.5 * misses[1.0]


def test_what_is_learnt_equals_the_joint_solution(first, seats):
    plan = plan_of(CALIPER, *(entry(key, 60.0) for key in seats))  # for its base inputs alone
    items = tuple(i for i in plan.inputs.items if i.id.startswith("tool/caliper"))
    job = replace(first.job, inputs=first.job.inputs.extended(tuple(replace(i, value=0.0) for i in items)))
    bare = derive(job)
    known = numbers_of(bare)
    read = [float(known[k].value) + by for k, by in zip(seats, (0.3, 0.1), strict=True)]
    after = plan_of(CALIPER, *(entry(k, v) for k, v in zip(seats, read, strict=True)))
    readings = after.job.measured
    foretold = dv.stack([shown(number_read(known, r, job.words), known, r) for r in readings])
    prior = tuple(i.id for i in bare.inputs.items), bare.inputs.sds
    doubts = np.full(2, SD)
    joint = learn(foretold, np.array(read), doubts, prior=prior, at=np.zeros(len(bare.inputs)))
    after = derive(after.job, replace(after.choices, structures=bare.choices.structures, clearance=None))
    inputs, again = bare.inputs.knowing(joint), numbers_of(after)
    checked = 0
    for key, value in known.items():
        u = float(value.sd(inputs.spread))
        if names_gap(key, job.lines) or key not in again or u < 1e-3:
            continue
        moved = float(value.value) + float(value.jac @ joint.moves)
        assert float(again[key].sd(after.inputs.spread)) == pytest.approx(u, rel=0.02), key
        assert float(again[key].value) == pytest.approx(moved, abs=0.02 * u + 0.002), key
        checked += 1
    assert checked > 40


@pytest.mark.parametrize("errors", ['sd = "0.4", zero = "0.5"', 'sd = "0.4", zero = "0.3", scale = "1 %"'])
def test_reading_late_equals_reading_early(errors):
    """A height of the survey, read again as a number of the plan: the same plan as with all in the survey."""
    job = replace(job_of(with_errors("level", f"{{ {errors} }}"), "job.toml"), clearance=None)
    key = next(r.id for r in job.survey.readings if r.kind.value.startswith("height") and r.marks[0] == "b4")
    reading = next(r for r in job.survey.readings if r.id == key)
    value = float(job.inputs[key].value)
    aside = replace(job, survey=replace(job.survey, set_aside=job.survey.set_aside | {key}))
    before = derive(aside)
    held = before.choices  # cut lengths too, which are rounded
    (late,) = job_of(
        with_errors("level", f"{{ {errors} }}") + entry("b4/height", value, "level", reading.marks[1]), "job"
    ).measured
    one, other = derive(replace(aside, measured=(late,)), held), derive(job, held)
    assert one.choices.taught.tested[0].used
    for a, b in zip(one.structures.quantities, other.structures.quantities, strict=True):
        u, v = float(a.value.sd(one.inputs.spread)), float(b.value.sd(other.inputs.spread))
        assert u == pytest.approx(v, rel=1e-3, abs=1e-4), a.id
        assert float(a.value.value) == pytest.approx(float(b.value.value), abs=0.01 * v + 1e-3), a.id
