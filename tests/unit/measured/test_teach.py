"""Readings of the plan's numbers: what agrees teaches, what contradicts is shown, and the rest follows."""

from dataclasses import replace

import numpy as np
import pytest

from spanwright.errors import InputError
from spanwright.estimation import derived as dv
from spanwright.estimation.condition import learn
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text
from spanwright.findings import Severity
from spanwright.job import as_built_rows, derive
from spanwright.measured.numbers import find, is_finished, names_gap, plain, readable
from spanwright.parts.given import PartsInput
from spanwright.parts.pieces import list_pieces
from spanwright.survey.readings import Kind

pytestmark = pytest.mark.slow


def entry(what, value, *, sd, above="", certain=False, by="caliper"):
    lines = [
        "[[measured]]",
        f'what = "{what}"',
        f'is = "{value:.4f} mm"',
        f'by = "{by}"',
        f'sd = "{sd} mm"',
    ]
    lines += [f'above = "{above}"'] if above else []
    lines += ["certain = true"] if certain else []
    return "\n" + "\n".join(lines) + "\n"


def plan_with(*entries):
    return derive(job_of(template_text() + "".join(entries), "job.toml"))


def numbers_of(plan):
    return readable(plan.survey, plan.alignment, plan.structures, plan.clearance)


def cut_to(plan, name, state="cut"):
    support = next(s for s in plan.structures.supports if s.given.name == name)
    lengths = ", ".join(f'"{c.length:.4f} mm"' for c in support.cuts)
    return f'\n[[made]]\npart = "{name}"\nstate = "{state}"\ncut_to = [{lengths}]\n'


@pytest.fixture(scope="module")
def first():
    return plan_with()


@pytest.fixture(scope="module")
def abutment(first):
    """An end support, as every job has one."""
    return first.structures.supports[0].given.name


def test_a_reading_as_foretold_moves_nothing_and_shrinks_the_doubt(first, abutment):
    known, key = numbers_of(first), f"{abutment}/shaft/length"
    after = plan_with(cut_to(first, abutment), entry(key, float(known[key].value), sd=0.05))
    again = numbers_of(after)
    assert float(again[key].value) == pytest.approx(float(known[key].value), abs=1e-9)
    before = float(known[key].sd(first.inputs.spread))
    closed = before * 0.05 / np.hypot(before, 0.05)
    assert float(again[key].sd(after.inputs.spread)) == pytest.approx(closed, rel=1e-6)
    assert after.choices.taught.tested[0].used
    assert not [f for f in after.findings if f.code.startswith("ME")]


@pytest.mark.parametrize("share", [0.7, -0.7])
def test_what_is_learnt_equals_the_joint_solution(first, share):
    """Two readings at once, a height and an offset that hangs on the line's unseen course between its marks.

    The joint solution is one linear step from the first plan; the plan derived again, its choices held,
    agrees within 2 % of the doubt in every number of the bridge.
    """
    known = numbers_of(first)
    bearing = first.structures.bearings[-1].id
    stands = cut_to(first, first.structures.bearings[-1].support, "dry-fitted")
    keys = [f"{bearing}/shoe", f"{bearing}/rail over girder"]
    doubts = np.array([0.05, 0.1])
    foretold = dv.stack([known[key] for key in keys])
    read = foretold.value + share * np.hypot(foretold.sd(first.inputs.spread), doubts)
    after = plan_with(stands, *(entry(k, v, sd=s) for k, v, s in zip(keys, read, doubts, strict=True)))
    after = derive(after.job, replace(after.choices, structures=first.choices.structures, clearance=None))
    ids = tuple(item.id for item in first.inputs.items)
    joint = learn(foretold, read, doubts, prior=(ids, first.inputs.sds), at=np.zeros(len(ids)))
    inputs = first.inputs.knowing(joint)
    again = numbers_of(after)
    checked = 0
    for key, value in known.items():
        if names_gap(key, first.job.lines) or key not in again:  # their closest points are found anew
            continue
        u = float(value.sd(inputs.spread))
        if u < 1e-3:
            continue
        moved = float(value.value) + float(value.jac @ joint.moves)
        assert float(again[key].sd(after.inputs.spread)) == pytest.approx(u, rel=0.02), key
        assert float(again[key].value) == pytest.approx(moved, abs=0.02 * u + 0.002), key
        checked += 1
    assert checked > 40


def test_an_exact_reading_is_met_by_the_plan(first, abutment):
    known = numbers_of(first)
    crossing = next(key for key in known if key.endswith("/separation"))
    bearing = first.structures.bearings[0].id
    for key in (crossing, f"{bearing}/rail over girder"):
        wanted = float(known[key].value) + float(known[key].sd(first.inputs.spread))
        after = plan_with(cut_to(first, abutment, "dry-fitted"), entry(key, wanted, sd=0.002))
        assert float(numbers_of(after)[key].value) == pytest.approx(wanted, abs=0.004), key


def test_a_plan_with_readings_is_replayed_to_the_bit(first):
    bearing = first.structures.bearings[0].id
    value = float(numbers_of(first)[f"{bearing}/shoe"].value)
    after = plan_with(entry(f"{bearing}/shoe", value + 0.1, sd=0.1))
    assert derive(after.job, after.choices) == after


def test_a_contradiction_is_shown_and_not_used(first, abutment):
    key = f"{abutment}/shaft/length"
    value = float(numbers_of(first)[key].value) - 1.8
    after = plan_with(cut_to(first, abutment), entry(key, value, sd=0.05))
    (found,) = [f for f in after.findings if f.code == "ME101"]
    assert found.severity is Severity.STOP
    assert "1.80 mm less" in found.text  # with its unit, so that it can be said in inches
    assert "not used" in found.text
    assert after.choices.taught.learnt is None
    assert float(numbers_of(after)[key].value) == pytest.approx(value + 1.8)


@pytest.mark.parametrize("state", [None, "spoiled", "taken out"])
def test_a_reading_of_a_shaft_that_is_not_there_teaches_nothing(first, abutment, state):
    key = f"{abutment}/shaft/length"
    made = [cut_to(first, abutment).replace('"cut"', f'"{state}"')] if state else []
    after = plan_with(*made, entry(key, float(numbers_of(first)[key].value) - 0.3, sd=0.05))
    (found,) = [f for f in after.findings if f.code == "ME104"]
    assert abutment in found.text
    one, other = (next(c for c in p.structures.supports[0].cuts) for p in (first, after))
    assert other.length == one.length
    assert float(other.built.sd(after.inputs.spread)) == float(one.built.sd(first.inputs.spread))


@pytest.mark.parametrize("state", ["", "cut", "taken out"])
def test_a_reading_of_where_a_support_stands_waits_until_it_stands(first, abutment, state):
    known, key = numbers_of(first), f"{first.structures.bearings[0].id}/rail over girder"
    made = cut_to(first, abutment, state) if state else ""
    after = plan_with(made, entry(key, float(known[key].value) + 0.1, sd=0.1))
    (found,) = [f for f in after.findings if f.code == "ME104"]
    assert f"{abutment} is not said to stand where it was set out" in found.text
    assert f'--made "{abutment} dry-fitted"' in found.remedy
    assert after.choices.taught.learnt is None


def test_the_face_of_a_column_is_read_once_its_bent_stands(first):
    bent = next(s for s in first.structures.supports if s.given.clear_left)
    rows = {r.id.removeprefix("as built/"): r for r in as_built_rows(first)}
    key = f"{bent.given.name}/column left/face"
    read = entry(key, float(rows[key].planned.value) + 0.1, sd=0.1)
    for state, counts in (("cut", False), ("dry-fitted", True)):
        after = plan_with(cut_to(first, bent.given.name, state), read)
        assert bool(after.choices.taught.not_there) is not counts, state
        assert bool(after.choices.taught.tested) is counts, state


def test_a_railhead_is_gauged_over_its_base_before_anything_stands(first, abutment):
    known, key = numbers_of(first), f"{abutment}/shaft/railhead over base"
    after = plan_with(entry(key, float(known[key].value), sd=0.1))
    assert after.choices.taught.tested[0].used


def test_the_builder_stands_by_it_and_the_packing_takes_it_up(first, abutment):
    key = f"{abutment}/shaft/length"
    value = float(numbers_of(first)[key].value) - 1.8
    after = plan_with(cut_to(first, abutment), entry(key, value, sd=0.05, certain=True))
    assert [f.code for f in after.findings if f.code.startswith("ME")] == ["ME102"]
    before = {s.bearing: float(s.packing.value) for s in first.structures.supports[0].seats}
    for seat in after.structures.supports[0].seats:
        assert float(seat.packing.value) == pytest.approx(before[seat.bearing] + 1.8, abs=0.02)
    cuts = after.structures.choices.cuts
    others = [c for c in cuts if c[0] != abutment]
    assert others == [c for c in first.structures.choices.cuts if c[0] != abutment]


@pytest.mark.parametrize("number", ["opened/{end}/shaft", "{end}/shaft/railhead over base"])
def test_a_railhead_gauged_over_its_base_can_be_stood_by(number):
    """The ground there counts as unknown: the shaft follows the gauging, the rails stay where they are."""
    extra = '\n[subroadbed]\nthickness = { is = "12", by = "caliper" }\n' if "opened" in number else ""
    before = plan_with(extra)
    end = before.structures.supports[0].given.name
    key = number.format(end=end)
    known = readable(before.survey, before.alignment, before.structures, None, as_built_rows(before))
    read = float(known[key].value) + 3.0
    doubted = plan_with(extra, entry(key, read, sd=0.1))
    assert not doubted.choices.taught.tested[0].used
    after = plan_with(extra, entry(key, read, sd=0.1, certain=True))
    assert [f.code for f in after.findings if f.code.startswith("ME")] == ["ME102"]
    mark = before.structures.supports[0].given.bases[0]
    ground = {r.id for r in before.job.survey.readings if r.kind is Kind.HEIGHT and mark in r.marks}
    assert set(after.choices.taught.unknown) == ground
    again = readable(after.survey, after.alignment, after.structures, None, as_built_rows(after))
    assert float(again[key].value) == pytest.approx(read, abs=0.02)
    wanted = f"{end}/shaft/wanted"
    assert float(again[wanted].value) == pytest.approx(float(known[wanted].value) + 3.0, abs=0.05)
    rail = f"{before.structures.bearings[0].id}/railhead wanted"
    assert float(again[rail].value) == pytest.approx(float(known[rail].value), abs=0.05)


def test_two_readings_of_one_thing_are_never_averaged_though_one_is_stood_by(first, abutment):
    key = f"{abutment}/shaft/length"
    value = float(numbers_of(first)[key].value)
    agrees, slip = entry(key, value - 0.1, sd=0.05), entry(key, value - 1.0, sd=0.05, certain=True)
    one, both = (plan_with(cut_to(first, abutment), *some) for some in ((agrees,), (agrees, slip)))
    (found,) = [f for f in both.findings if f.code == "ME101"]
    assert "measured 1" in found.remedy
    built = [float(p.structures.supports[0].cuts[0].built.value) for p in (one, both)]
    assert built[1] == built[0]


def test_what_no_slip_of_making_explains_is_not_used_though_it_is_stood_by(first):
    known = numbers_of(first)
    key = next(key for key in known if key.endswith("/separation"))  # rails over rails: nothing is made
    after = plan_with(entry(key, float(known[key].value) - 5.0, sd=0.1, certain=True))
    (found,) = [f for f in after.findings if f.code == "ME101"]
    assert "contradicts the survey" in found.remedy
    assert after.choices.taught.unknown == ()
    bare = plan_with(entry(key, float(known[key].value) - 5.0, sd=0.1))
    (found,) = [f for f in bare.findings if f.code == "ME101"]
    assert "contradicts the survey" in found.remedy  # to stand by it would not help


def test_the_next_pier_is_known_better_too(first):
    """What both share, the height of the rails, is learnt at one support for the other."""
    known, bearings = numbers_of(first), first.structures.bearings
    here, there = f"{bearings[0].id}/railhead wanted", f"{bearings[-1].id}/railhead wanted"
    after = plan_with(entry(here, float(known[here].value), sd=0.02))
    u = float(known[there].sd(first.inputs.spread))
    assert float(numbers_of(after)[there].sd(after.inputs.spread)) < 0.995 * u


def test_a_name_that_is_not_known_offers_those_that_are_near(first):
    with pytest.raises(InputError) as caught:
        plan_with(entry("crossing separatoin", 1.0, sd=0.1))
    assert caught.value.code == "ME001"
    assert "separation" in caught.value.limit


@pytest.mark.parametrize(
    ("written", "nearest"),
    [
        ("{end} shaft lenght", "{end}/shaft/length"),
        ("cap top of {end}", "{end}/cap top"),
        ("railhead over base at {end}", "{end}/shaft/railhead over base"),
        ("{end} / span A / aisle / seet", "{end}/span A/aisle/seat"),  # finished work, in the builder's words
    ],
)
def test_the_nearest_name_is_offered_first(abutment, written, nearest):
    with pytest.raises(InputError) as caught:
        plan_with(entry(written.format(end=abutment), 50.0, sd=0.1))
    assert caught.value.code == "ME001"
    assert caught.value.limit.split("; ")[0] == nearest.format(end=abutment)


def test_nothing_is_offered_for_a_name_that_is_like_none(first):
    with pytest.raises(InputError) as caught:
        find(numbers_of(first), "qqqq zzzz", first.job.words, where="here")
    assert caught.value.limit == "see spanwright build, as-built readings"


def test_names_are_read_in_the_builders_words(first):
    bearing, words = first.structures.bearings[0], first.job.words
    side = words.left if bearing.side == "left" else words.right
    written = f"{bearing.support} / {bearing.span}, {side.upper()} Shoe"
    number = find(numbers_of(first), written, words, where="here")
    assert float(number.value) == float(bearing.seat.value)
    assert plain("Pier 1 /  seat,aisle") == "pier 1 seat aisle"


def test_rows_of_the_as_built_sheets_can_be_read_by_name(first):
    rows = as_built_rows(first)
    known = readable(first.survey, first.alignment, first.structures, rows=rows)
    for row in rows:
        short = row.id.removeprefix("as built/")
        assert (short in known) is not is_finished(row), row.id
        if short in known and not row.id.startswith("as built/"):
            assert float(known[short].value) == pytest.approx(float(row.planned.value)), row.id


@pytest.mark.parametrize(("off", "passes"), [(0.0, True), (0.9, False)])
def test_what_is_read_on_finished_work_teaches_nothing(first, off, passes):
    row = next(r for r in as_built_rows(first) if r.id.endswith("/seat"))
    name = row.id.removeprefix("as built/")
    after = plan_with(entry(name, float(row.planned.value) + off, sd=0.05))
    taught = after.choices.taught
    assert (taught.learnt, taught.tested) == (None, ())
    (outcome,) = taught.outcomes
    assert outcome.passes is passes
    assert outcome.off == pytest.approx(off, abs=1e-4)
    assert [f.code for f in after.findings if f.code.startswith("ME")] == ([] if passes else ["ME103"])
    assert derive(after.job, after.choices) == after


def test_finished_work_is_read_from_its_own_base(first):
    row = next(r for r in as_built_rows(first) if r.id.endswith("/seat"))
    name = row.id.removeprefix("as built/")
    mark = next(m.name for m in first.survey.marks if m.line)
    with pytest.raises(InputError) as caught:
        plan_with(entry(name, float(row.planned.value), sd=0.05, above=mark))
    assert caught.value.code == "ME004"


def test_the_part_made_last_is_cut_once_the_gap_under_the_unit_was_measured(first):
    """The order turns round: a unit stands, the gap under it is read, and only then the bent has a height."""
    given, known = first.job.structures, numbers_of(first)
    bent = next(s for s in first.structures.supports if len(s.cuts) == 2)
    parts = PartsInput(units=(tuple(s.name for s in given.spans if bent.given.name in (s.start, s.end)),))

    def columns(plan):
        pieces = list_pieces(plan.job.structures, parts, plan.inputs, plan.structures)
        return [p for p in pieces if p.id.startswith(f"{bent.given.name}/column")]

    assert all(p.sizes[0].cut is None for p in columns(first))
    mine = [b for b in first.structures.bearings if b.support == bent.given.name]
    bases = {side: f"{bent.given.name}/column {side}/base" for side in ("left", "right")}
    readings = [
        entry(
            f"{b.id}/shoe",
            float(known[f"{b.id}/shoe"].value) - float(known[bases[b.side]].value),
            sd=0.05,
            above=bases[b.side],
        )
        for b in mine
    ]
    after = plan_with(*readings)
    cuts = {c.id: c for s in after.structures.supports for c in s.cuts}
    for piece in columns(after):
        assert piece.sizes[0].cut == cuts[piece.id].length
        assert "was measured" in piece.after
        before = next(c for s in first.structures.supports for c in s.cuts if c.id == piece.id)
        assert cuts[piece.id].length > before.length  # less is kept back for doubt


def test_a_gap_that_a_train_just_fits_is_a_reading(first):
    gap = min(
        (g for g in first.clearance.gaps if not g.beyond_reach and float(g.gap.value) > 0.0),
        key=lambda g: float(g.gap.value),
    )
    name = f"{gap.vehicle} on {gap.line}, {gap.part}".replace("left", first.job.words.left)
    after = plan_with(entry(name, float(gap.gap.value) - gap.u, sd=0.02, by="feeler"))
    same = next(g for g in after.clearance.gaps if g.id == gap.id)
    assert float(same.gap.value) == pytest.approx(float(gap.gap.value) - gap.u, abs=0.03)
    assert same.u == pytest.approx(gap.u * 0.02 / np.hypot(gap.u, 0.02), rel=0.1)


def test_a_column_that_was_measured_says_nothing_of_the_other(first):
    """Each is sawn by itself."""
    bent = next(s for s in first.structures.supports if len(s.cuts) == 2)
    left, right = (f"{bent.given.name}/column {side}/length" for side in ("left", "right"))
    known = numbers_of(first)
    after = plan_with(
        cut_to(first, bent.given.name),
        entry(left, float(known[left].value) - 0.3, sd=0.05),
        entry(right, float(known[right].value) + 0.3, sd=0.05),
    )
    assert [t.used for t in after.choices.taught.tested] == [True, True]
    one = plan_with(cut_to(first, bent.given.name), entry(left, float(known[left].value) - 0.3, sd=0.05))
    same = numbers_of(one)[right]
    assert float(same.value) == pytest.approx(float(known[right].value), abs=1e-6)
    assert float(same.sd(one.inputs.spread)) == pytest.approx(
        float(known[right].sd(first.inputs.spread)), rel=1e-6
    )


def test_a_reading_that_is_entered_twice_counts_once(first):
    key = f"{first.structures.bearings[0].id}/shoe"
    value = float(numbers_of(first)[key].value)
    once, twice = (plan_with(*[entry(key, value, sd=0.1)] * n) for n in (1, 2))
    assert [t.used for t in twice.choices.taught.tested] == [True, False]
    assert [f.code for f in twice.findings if f.code.startswith("ME")] == ["ME105"]
    doubts = [float(numbers_of(p)[key].sd(p.inputs.spread)) for p in (once, twice)]
    assert doubts[0] == pytest.approx(doubts[1], rel=1e-9)


def test_a_mark_that_is_not_known_offers_marks_as_they_are_written(first):
    known, words = numbers_of(first), first.job.words
    mark = next(m.name for m in first.survey.marks if f"{m.name}/height" in known)
    with pytest.raises(InputError) as caught:
        find(known, f"{mark}9", words, where="here")
    assert mark in caught.value.limit.split("; ")
    assert " x" not in caught.value.limit
