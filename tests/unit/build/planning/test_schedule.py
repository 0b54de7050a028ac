"""Steps as a plan: readings stand before what needs them, doubts before cuts; what is done is left out."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from spanwright.build.planning.given import BuildInput
from spanwright.build.planning.schedule import tonight
from spanwright.build.planning.tasks import Kind
from spanwright.build.stage import plan_build
from spanwright.build.step import Cure
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.errors import InputError
from spanwright.estimation.derived import constant
from spanwright.findings import Verdict
from truth.build_cases import from_job, made_up


@pytest.fixture(scope="module", params=["demo", "oo", "h0", "one span", "four spans"])
def case(request):
    return from_job(request.param) if request.param in ("demo", "oo", "h0") else made_up(request.param)


@pytest.fixture(scope="module")
def demo():
    return from_job("demo")


def built(case, clearance=None, **asked):
    given = (case.given, case.parts, case.inputs, case.structures, clearance)
    return plan_build(*given, lower=case.lower, asked=BuildInput(**asked))


def one_gap(case, part, verdict):
    number = constant(-0.1, len(case.inputs))
    gap = SimpleNamespace(
        spec=Gap, gap=number, margin_gap=number, margin_u=0.3, verdict=verdict, line=case.given.lower,
        vehicle="a car", part=part, reason="",
        id=f"clearance/x/a car/{part}", beyond_reach=False, surveyed=True,
    )  # fmt: skip
    return SimpleNamespace(spec=ClearanceResult, gaps=(gap,))


def test_no_step_is_begun_before_the_readings_that_it_needs(case):
    build = built(case)
    slots = {s.id: s for s in build.schedule.slots}
    tasks = {t.id: t for t in build.schedule.tasks}
    taken = {r: slots[t.id].end for t in tasks.values() for r in t.readings}
    assert {r.id for r in build.as_built} <= taken.keys()
    for step in build.steps:
        start = slots[step.id].start
        assert all(taken[r] <= start + 1e-9 for r in step.waits_for if r in taken), step.id
        for need in step.needs:
            assert slots[need].ready <= start + 1e-9, step.id
            reading = slots.get(f"read/{need}")
            assert reading is None or reading.end <= start + 1e-9, step.id


def test_a_cap_is_read_in_the_evening_in_which_it_is_glued_and_a_girder_spacing_when_the_glue_is_hard(case):
    slots = {s.id: s for s in built(case).schedule.slots}
    for key, slot in slots.items():
        if key.startswith("read/glue/"):
            assert slot.start == slots[key.removeprefix("read/")].end
        if key.startswith("read/assemble/"):
            assert slot.start >= slots[key.removeprefix("read/")].ready


def test_evenings_lie_between_the_bound_and_one_thing_after_another(case):
    schedule = built(case).schedule
    assert schedule.least <= schedule.evenings
    assert schedule.path.work / 2.0 <= schedule.least
    assert schedule.path.length <= 24.0 * schedule.evenings
    assert built(case, evening=4.0).schedule.evenings < schedule.evenings


def test_a_gap_that_is_not_settled_holds_up_the_part_and_nothing_else(demo):
    found = one_gap(demo, "bent/cap", Verdict.NOT_PROVEN)
    tasks = {t.id: t for t in built(demo, found).schedule.tasks}
    held = {key for key, t in tasks.items() if "prove/bent" in t.activity.needs}
    assert held == {"settle", "make gauges", "make/bent", "cut/bent", "glue/bent", "pack/bent"}
    assert tasks["prove/bent"].kind is Kind.DOUBT
    for verdict in (Verdict.TIGHT, Verdict.CLEAR):
        calm = built(demo, one_gap(demo, "bent/cap", verdict)).schedule.tasks
        assert not [t for t in calm if t.kind is Kind.DOUBT]


def test_settled_by_word_alone_is_said(demo):
    found = one_gap(demo, "bent/cap", Verdict.FOUL)
    build = built(demo, found, done=("settle",))
    assert [(f.code, f.where) for f in build.findings if f.code == "BU104"] == [("BU104", "settle")]
    assert "prove/bent" in next(f.text for f in build.findings if f.code == "BU104")
    build = built(demo, found, done=("settle", "prove/bent"))
    assert [f.code for f in build.findings if f.code in ("BU104", "BU105")] == ["BU105"]


def test_times_of_the_job_file_go_before_those_of_common_practice(demo):
    build = built(
        demo,
        hands_on=(("cut", 1.5), ("cut/pier 1", 0.25)),
        cures=((Cure.GLUE, 6.0),),
        reading=0.5,
    )
    steps = {s.id: s for s in build.steps}
    assert (steps["cut/bent"].minutes, steps["cut/pier 1"].minutes) == (90.0, 15.0)
    (wait,) = steps["glue/pier 1"].waits
    assert (wait.hours, wait.source) == (6.0, "the job file")
    assert steps["paint"].waits[0].hours == 24.0
    assert build.schedule.task("read/cut/pier 1").activity.work == 0.5


def test_what_is_done_is_left_out_and_what_cures_takes_no_hands(demo):
    before = built(demo).schedule
    keys = [t.id for t in before.tasks]
    done = tuple(keys[: keys.index("glue/town abutment")])
    build = built(demo, done=done, curing=(("glue/town abutment", 10.0),))
    schedule = build.schedule
    assert [t.id for t in schedule.tasks] == keys[len(done) :]
    assert not [f for f in build.findings if f.code in ("BU104", "BU105")]
    slots = {s.id: s for s in schedule.slots}
    assert (slots["glue/town abutment"].end, slots["glue/town abutment"].ready) == (0.0, 10.0)
    assert slots["glue/yard abutment"].start == 24.0
    found = tonight(schedule)
    # the reading of the cap that was glued is the only thing that can be done; the rest waits for the glue
    assert [t.id for t, _, _ in found.work] == ["read/glue/town abutment"]
    assert [(t.id, evening) for t, evening in found.cures] == [("glue/town abutment", 2)]
    (measured,) = found.measure
    assert measured[0].id == "read/glue/town abutment"
    assert "pack/town abutment" in [t.id for t in measured[1]]


def test_what_was_done_without_what_it_waits_for_is_said(demo):
    build = built(demo, done=("cut/pier 1",))
    (found,) = (f for f in build.findings if f.code == "BU104")
    assert found.where == "cut/pier 1"
    assert "make gauges" in found.text


def test_tonight_fills_the_evening_with_what_can_be_begun(demo):
    schedule = built(demo).schedule
    found = tonight(schedule)
    assert [t.id for t, _, _ in found.work][:2] == ["settle", "calibrate"]
    assert sum(hours for _, hours, _ in found.work) <= schedule.evening
    assert all(left == 0.0 for _, _, left in found.work)
    assert found.measure == ()  # the first reading is a step that needs others


def test_all_is_done(demo):
    keys = tuple(t.id for t in built(demo).schedule.tasks)
    schedule = built(demo, done=keys).schedule
    assert (schedule.tasks, schedule.evenings, schedule.least, schedule.path.length) == ((), 0, 0, 0.0)
    assert tonight(schedule).work == ()


def test_when_it_can_be_gone_on_with(demo):
    schedule = replace(built(demo).schedule, evening=2.0)
    assert [schedule.usable(h) for h in (0.0, 1.9, 2.0, 10.0, 24.0, 25.9, 26.0)] == [1, 1, 2, 2, 2, 2, 3]


@pytest.mark.parametrize(
    ("asked", "code", "says"),
    [
        ({"done": ("glue/pier 7",)}, "BU004", ["[build] done", "'glue/pier 7'", "glue/pier 1"]),
        ({"done": ("nonsense",)}, "BU004", ["'nonsense'", "settle"]),
        ({"done": ("cutt/pier 1",)}, "BU004", ["Did you mean 'cut/pier 1'?"]),
        ({"curing": (("paint it", 4.0),)}, "BU004", ["[build] curing", "paint"]),
        ({"curing": (("paint", 4.0),), "done": ("paint",)}, "BU004", ["both", "'paint'"]),
        ({"curing": (("paint", -4.0),)}, "BU003", ["[build] curing paint", "-4.0"]),
        ({"hands_on": (("sew", 4.0),)}, "BU004", ["[build] hands_on", "'sew'"]),
        ({"hands_on": (("cut", -1.0),)}, "BU003", ["[build] hands_on cut", "-1.0"]),
        ({"cures": ((Cure.PAINT, float("inf")),)}, "BU003", ["[build] cures paint", "inf"]),
        ({"reading": float("nan")}, "BU003", ["[build] reading", "nan"]),
        ({"evening": 0.0}, "BU003", ["[build] evening", "0.0"]),
    ],
)
def test_what_cannot_be_meant_is_one_clear_error(demo, asked, code, says):
    with pytest.raises(InputError) as caught:
        built(demo, **asked)
    assert caught.value.code == code
    assert [s for s in says if s not in str(caught.value)] == []


def test_a_size_that_leaves_a_cut_in_doubt_is_measured_when_it_is_made_and_before_that_cut(demo):
    tasks = {t.id: t for t in built(demo).schedule.tasks}
    sizes = {key: t for key, t in tasks.items() if t.kind is Kind.SIZE}
    assert sizes.keys() == {"caliper/pier 1", "caliper/bent"}  # their caps and footings are still to be made
    for key, task in sizes.items():
        name = key.removeprefix("caliper/")
        assert task.activity.needs == (f"make/{name}",)
        assert [k for k, t in tasks.items() if key in t.activity.needs] == [f"cut/{name}"]
        assert task.activity.work == pytest.approx(2 * BuildInput().reading)
    cut = built(demo, done=("cut/bent",)).schedule.tasks
    assert "caliper/bent" not in [t.id for t in cut]


def test_a_size_that_is_measured_by_caliper_is_no_task(demo):
    known = tuple(
        replace(i, sd=0.05) if i.id in ("supports/bent/cap", "supports/bent/footing") else i
        for i in demo.inputs.items
    )
    case = SimpleNamespace(**{**vars(demo), "inputs": replace(demo.inputs, items=known)})
    assert [t.id for t in built(case).schedule.tasks if t.kind is Kind.SIZE] == ["caliper/pier 1"]
    assert built(case, done=("caliper/bent", "prove/bent")).schedule.count == built(case).schedule.count


def test_a_size_that_is_told_to_be_measured_but_not_entered_is_said(demo):
    (found,) = (f for f in built(demo, done=("caliper/bent", "make/bent")).findings if f.code == "BU105")
    assert (found.where, "too doubtful for a cut" in found.text) == ("caliper/bent", True)
