"""After an edit only what has changed is derived, and the plan is the one that is derived from nothing."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import fields, is_dataclass, replace
from pathlib import Path

import numpy as np
import pytest

from spanwright.clearance import searching
from spanwright.clearance import stage as clearance
from spanwright.clearance.vehicles import sized
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Input, Inputs
from spanwright.files.job_file import load_job
from spanwright.findings import Verdict
from spanwright.job import Job, derive, derive_again, same
from truth import demo

JOBS = Path(__file__).resolve().parents[2] / "jobs"
FOLDERS = {"demo": Path(demo.SHIPPED).parent, "oo": JOBS / "oo", "h0": JOBS / "h0"}
TRAINS = 4  # of each job: enough for both lines


def moved(job: Job, ends: str, by: float) -> Job:
    """Move the last input whose id ends so."""
    key = [item.id for item in job.inputs.items if item.id.endswith(ends)][-1]
    return with_inputs(job, tuple(replace(i, value=i.value + by * (i.id == key)) for i in job.inputs.items))


def with_inputs(job: Job, items: tuple[Input, ...]) -> Job:
    return replace(job, inputs=Inputs(items=items))


def surer(job: Job) -> Job:
    key = next(i.id for i in job.inputs.items if i.id.endswith("/cap"))
    return with_inputs(
        job, tuple(replace(i, sd=i.sd * (0.5 if i.id == key else 1.0)) for i in job.inputs.items)
    )


def read_once_more(job: Job) -> Job:
    """Another caliper reading of a cap, in the midst of the inputs."""
    items, support = list(job.inputs.items), job.structures.supports[-1]
    at = next(k for k, i in enumerate(items) if i.id == support.cap.ids[0])
    again = replace(items[at], id=f"{items[at].id}/again", value=items[at].value + 0.03)
    cap = replace(support.cap, ids=(*support.cap.ids, again.id))
    supports = (*job.structures.supports[:-1], replace(support, cap=cap))
    edited = replace(job, structures=replace(job.structures, supports=supports))
    return with_inputs(edited, (*items[: at + 1], again, *items[at + 1 :]))


def with_margin(job: Job) -> Job:
    return replace(job, clearance=replace(job.clearance, margin_side=job.clearance.margin_side + 0.2))


def with_runs(job: Job, runs) -> Job:
    return replace(job, clearance=replace(job.clearance, runs=tuple(runs)))


def without_a_vehicle(job: Job) -> Job:
    gone = job.clearance.runs[0].vehicle
    runs = [run for run in job.clearance.runs if run.vehicle.id != gone.id]
    kept = [i for i in job.inputs.items if not i.id.startswith(f"vehicles/{gone.id}/")]
    return with_inputs(with_runs(job, runs), tuple(kept))


def with_a_wider_vehicle(job: Job) -> Job:
    *others, last = job.clearance.runs
    body = last.vehicle.bodies[0]
    body = replace(body, prisms=tuple(replace(p, section=p.section * [1.01, 1.0]) for p in body.prisms))
    wider = replace(last.vehicle, bodies=(body, *last.vehicle.bodies[1:]))
    return with_runs(job, [*others, replace(last, vehicle=wider)])


def with_a_reading(job: Job) -> Job:
    return moved(job, job.survey.readings[3].id, 0.1)


# the edit, and how many of ten pairs it may search at the most where little has changed
EDITS = {
    "nothing": (lambda job: replace(job, name="other"), 0),
    "cap thickness": (lambda job: moved(job, "/cap", 0.3), 6),
    "doubt of a cap": (surer, 6),
    "one more reading of a cap": (read_once_more, 6),
    "shift": (lambda job: moved(job, "/shift", 0.8), 8),
    "handrail": (lambda job: moved(job, "/handrail/offset", 1.0), 8),
    "clear": (lambda job: moved(job, "/clear/left", 0.6), 8),
    "margin": (with_margin, 10),
    "vehicle gone": (without_a_vehicle, 0),
    "vehicle wider": (with_a_wider_vehicle, 5),
    "line raised": (lambda job: moved(job, "lines/upper/raise", 0.4), 10),
    "reading": (with_a_reading, 10),
}


@pytest.fixture(scope="module", params=FOLDERS)
def job(request) -> Job:
    full = load_job(FOLDERS[request.param])
    runs = full.clearance.runs
    return with_runs(full, (*runs[: TRAINS - 1], runs[-1]))


@pytest.fixture(scope="module")
def before(job):
    return derive(job)


@pytest.mark.parametrize("edit", EDITS)
def test_the_plan_after_an_edit_is_the_one_from_nothing(job, before, edit, monkeypatch):
    """To the last bit; where columns have moved, but for rounding."""
    change, most = EDITS[edit]
    try:
        edited = change(job)
    except IndexError:
        pytest.skip("the job has no such size")
    searched = _count_searched(monkeypatch)
    plan = derive(edited, before=before)
    pairs = len(plan.clearance.gaps)
    assert sum(searched) <= most / 10.0 * pairs
    anew = derive(edited)
    assert alike(plan, anew) if len(edited.inputs) != len(job.inputs) else plan == anew


def alike(kept, anew) -> bool:
    """Tell whether two plans are the same but for rounding.

    Where inputs come or go the columns of the derivatives move; sums over inputs then add the same numbers,
    and the noughts between them, in another order.
    """
    if isinstance(kept, np.ndarray | float):
        return bool(np.allclose(kept, anew, rtol=1e-12, atol=1e-12, equal_nan=True))
    if isinstance(kept, Derived):
        return alike(kept.value, anew.value) and alike(kept.jac, anew.jac)
    if is_dataclass(kept):
        return all(alike(getattr(kept, f.name), getattr(anew, f.name)) for f in fields(kept))
    if isinstance(kept, dict):
        return kept.keys() == anew.keys() and all(alike(kept[k], anew[k]) for k in kept)
    if isinstance(kept, tuple):
        return len(kept) == len(anew) and all(alike(a, b) for a, b in zip(kept, anew, strict=True))
    return same(kept, anew)


def test_a_margin_searches_only_the_grown_trains(job, monkeypatch):
    edited, before, find = with_margin(job), derive(job), searching.find
    searched = []

    def seen(prepared, *parts):
        if prepared.settings.also_within > 0.0:  # not a half
            searched.append(prepared.vehicle)
        return find(prepared, *parts)

    monkeypatch.setattr(searching, "find", seen)
    derive(edited, before=before)
    own = {id(sized(run.vehicle, job.inputs)) for run in job.clearance.runs}
    assert searched
    assert not [vehicle for vehicle in searched if id(vehicle) in own]


def test_threads_find_the_same(job, before):
    edited = moved(job, "/shift", 0.8)
    with ThreadPoolExecutor(2) as pool:
        assert derive(edited, before=before, each=pool.map) == derive(edited)


def test_a_vehicle_that_comes_is_searched_alone(job, before, monkeypatch):
    few = derive(without_a_vehicle(job), before=before)
    searched = _count_searched(monkeypatch)
    plan = derive(job, before=few)
    assert sum(searched) == len(plan.clearance.gaps) - len(few.clearance.gaps)
    assert alike(plan, before)


def _count_searched(monkeypatch) -> list[int]:
    counts, search = [], clearance.search_run

    def counted(*arguments):
        found = search(*arguments)
        counts.append(len(found))
        return found

    monkeypatch.setattr(clearance, "search_run", counted)
    return counts


def test_a_reading_is_told_at_once_and_nothing_stale_is_clear(job, before):
    """Heights, doubts and gaps nearly as they will be; no word is said until all has been decided anew."""
    edited = with_a_reading(job)
    at_once, plan = derive_again(edited, before)
    assert at_once.is_working
    assert not plan.is_working
    assert plan == derive(edited)
    assert all(gap.verdict is Verdict.NOT_PROVEN for gap in at_once.clearance.gaps)
    assert all(gap.is_working for gap in at_once.clearance.gaps)
    assert all(gap.verdict is Verdict.NOT_PROVEN and gap.is_working for gap in at_once.fixed)
    assert [gap.id for gap in at_once.fixed] == [gap.id for gap in plan.fixed]
    told = {f.where for f in at_once.clearance.findings if f.code == "CL103" and "working" in f.text}
    assert told == {gap.id for gap in plan.clearance.gaps}
    for one, other in zip(at_once.clearance.gaps, plan.clearance.gaps, strict=True):
        if np.isfinite(one.gap.value) and np.isfinite(other.gap.value):
            assert float(one.gap.value) == pytest.approx(float(other.gap.value), abs=0.02)
            assert one.u == pytest.approx(other.u, rel=0.05)


def test_a_reading_moves_the_marks_at_once_as_it_will(job, before):
    """The survey has nothing to decide but the sides of the marks: only the last bits differ."""
    at_once, plan = derive_again(with_a_reading(job), before)
    assert at_once.survey.names == plan.survey.names
    assert at_once.survey.values.value == pytest.approx(plan.survey.values.value, abs=1e-6)
    assert at_once.survey.values.jac == pytest.approx(plan.survey.values.jac, abs=1e-6)
    assert [s.readings for s in at_once.survey.suspects] == [s.readings for s in plan.survey.suspects]


@pytest.mark.parametrize("edit", ["reading", "line raised"])
def test_heights_are_told_at_once_with_what_was_decided_held(job, before, edit):
    at_once, plan = derive_again(EDITS[edit][0](job), before)
    assert at_once.is_working
    assert at_once.structures.choices == before.structures.choices
    sds = plan.inputs.sds
    for one, other in zip(at_once.structures.bearings, plan.structures.bearings, strict=True):
        assert float(one.seat.value) == pytest.approx(float(other.seat.value), abs=0.02)
        assert float(one.seat.sd(sds)) == pytest.approx(float(other.seat.sd(sds)), rel=0.05)


def test_the_first_plan_is_derived_with_the_choices_of_the_former(job, before):
    """Where the survey stands, it is what those choices give, but for what is said of it."""
    edited = moved(job, "lines/upper/raise", 0.4)
    at_once = next(derive_again(edited, before))
    replayed = derive(edited, replace(before.choices, clearance=None))
    for stage in ("survey", "alignment", "structures", "portals"):
        assert same(getattr(at_once, stage), getattr(replayed, stage))


def test_a_working_plan_is_not_built_on(job, before):
    edited = with_a_reading(job)
    at_once = next(derive_again(edited, before))
    again = moved(edited, "/cap", 0.2)
    assert list(derive_again(again, at_once)) == [derive(again)]


def test_what_stood_keeps_its_word_at_once(job, before):
    edited = moved(job, "/cap", 0.3)
    at_once, plan = derive_again(edited, before)
    working = {gap.id for gap in at_once.clearance.gaps if gap.is_working}
    assert 0 < len(working) < 0.5 * len(plan.clearance.gaps)
    for one, other in zip(at_once.clearance.gaps, plan.clearance.gaps, strict=True):
        assert one.verdict is (Verdict.NOT_PROVEN if one.id in working else other.verdict)


@pytest.mark.parametrize("edit", ["vehicle gone", "vehicle wider"])
def test_a_vehicle_without_witnesses_is_not_guessed_at(job, before, edit):
    edited = EDITS[edit][0](job)
    plans = list(derive_again(edited, before))
    assert len(plans) == (1 if edit == "vehicle wider" else 2)
    assert alike(plans[-1], derive(edited))
