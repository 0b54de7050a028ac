"""What is entered shows what is done: rows that are read, supports that are made, taken out or spoiled."""

import pytest

from spanwright.build.as_built import list_readings
from spanwright.build.planning.given import BuildInput
from spanwright.build.stage import plan_build
from spanwright.measured.given import Made, Measured, PartState
from spanwright.measured.taken import with_entered
from truth.build_cases import from_job


@pytest.fixture(scope="module")
def demo():
    return from_job("demo")


def entered(case, asked, *, made=(), names=()):
    rows = list_readings(case.given, case.parts, case.inputs, case.structures, case.lower)
    readings = tuple(Measured(id=n, number=n, above="", value=1.0, sd=0.1, tool="caliper") for n in names)
    states = tuple(Made(part=part, state=state, lengths=(1.0,)) for part, state in made)
    return with_entered(asked, rows, made=states, readings=readings, words=case.words)


def left(case, asked):
    given = (case.given, case.parts, case.inputs, case.structures, None)
    return {t.id: t for t in plan_build(*given, lower=case.lower, asked=asked).schedule.tasks}


def test_a_row_is_named_by_its_id_in_any_way_that_the_sheets_do(demo):
    for name in ("as built/pier 1/shaft/length", "pier 1 shaft length", "Pier 1, shaft, length"):
        assert entered(demo, BuildInput(), names=[name]).read == ("as built/pier 1/shaft/length",)
    side = "left" if demo.words.left == "wall" else "right"
    for name in ("bent column wall length", f"bent/column {side}/length", "bent, wall column, length"):
        assert entered(demo, BuildInput(), names=[name]).read == (f"as built/bent/column {side}/length",)
    assert entered(demo, BuildInput(), names=["pier 1/shaft/width"]).read == ()


def test_a_reading_counts_once_its_step_is_done(demo):
    key, names = "read/cut/pier 1", ["pier 1 shaft length"]
    assert key in left(demo, entered(demo, BuildInput(), names=names))
    done = entered(demo, BuildInput(done=("cut/pier 1",)), names=names)
    assert key not in left(demo, done)
    curing = entered(demo, BuildInput(curing=(("glue/pier 1", 9.0),)), names=["pier 1 shaft cap top"])
    assert "read/glue/pier 1" not in left(demo, curing)


def test_of_two_readings_one_is_left(demo):
    asked = entered(demo, BuildInput(done=("cut/bent",)), names=["bent column wall length"])
    task = left(demo, asked)["read/cut/bent"]
    assert len(task.readings) == 1
    assert task.activity.work == pytest.approx(asked.reading)


def test_a_step_that_is_nothing_but_readings_is_done_when_all_are_entered(demo):
    rows = list_readings(demo.given, demo.parts, demo.inputs, demo.structures, demo.lower)
    names = [r.id for r in rows if r.id.startswith("opened/")]
    assert "read the line again" in left(demo, entered(demo, BuildInput(), names=names[1:]))
    assert "read the line again" not in left(demo, entered(demo, BuildInput(), names=names))


@pytest.mark.parametrize(
    ("state", "done"),
    [
        (PartState.CUT, {"cut/pier 1"}),
        (PartState.DRY_FITTED, {"make/pier 1", "cut/pier 1"}),
        (PartState.BUILT, {"make/pier 1", "cut/pier 1", "glue/pier 1"}),
        (PartState.TAKEN_OUT, set()),
        (PartState.SPOILED, set()),
    ],
)
def test_a_state_shows_steps_to_be_done(demo, state, done):
    assert set(entered(demo, BuildInput(), made=[("pier 1", state)]).done) == done


def test_what_still_cures_is_not_done(demo):
    asked = entered(demo, BuildInput(curing=(("glue/pier 1", 9.0),)), made=[("pier 1", PartState.BUILT)])
    assert "glue/pier 1" not in asked.done
    assert left(demo, asked)["glue/pier 1"].is_curing


@pytest.mark.parametrize(
    ("state", "again"),
    [
        (PartState.TAKEN_OUT, {"glue/pier 1", "read/glue/pier 1", "pack/pier 1"}),
        (PartState.SPOILED, {"make/pier 1", "cut/pier 1", "read/cut/pier 1", "glue/pier 1", "pack/pier 1"}),
    ],
)
def test_what_is_taken_out_or_spoiled_is_to_be_done_again(demo, state, again):
    every = tuple(left(demo, BuildInput()))
    asked = entered(demo, BuildInput(done=every), made=[("pier 1", state)], names=["pier 1 shaft length"])
    assert again <= left(demo, asked).keys()
    assert not [key for key in left(demo, asked) if "pier 1" not in key]
