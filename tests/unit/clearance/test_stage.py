from dataclasses import replace

import numpy as np
import pytest
from clearance_scenes import box, car, make_line
from derived_scenes import PLACES, line_of, scene, shapes_of

from spanwright.clearance.given import ClearanceInput, Run
from spanwright.clearance.stage import assess
from spanwright.clearance.suspects import SuspectShift, Trust
from spanwright.clearance.vehicles import VehicleInputs
from spanwright.errors import InputError
from spanwright.estimation.derived import constant
from spanwright.estimation.inputs import Input, Inputs
from spanwright.findings import Severity, Verdict


@pytest.fixture(scope="module")
def assessed():
    line, vehicle, settings, inputs = scene()

    def run(given, choices=None, **more):
        return assess(
            given,
            {"lower": line_of(given, line)},
            shapes_of(given, PLACES),
            settings,
            choices=choices,
            **more,
        )

    return run, run(inputs), inputs, vehicle, settings


def by_part(result):
    return {g.part: g for g in result.gaps}


def test_every_pair_has_an_id_a_word_and_a_doubt(assessed):
    _, result, *_ = assessed
    gaps = by_part(result)
    assert [g.id for g in result.gaps] == [f"clearance/lower/car/{part}" for part in PLACES]
    assert gaps["foul"].verdict is Verdict.FOUL
    assert gaps["foul"].gap.value < 0
    assert gaps["foul"].travel == "right"
    assert gaps["column"].gap.value > 0
    assert gaps["column"].u > 0
    assert gaps["column"].margin_gap.value < gaps["column"].gap.value
    assert gaps["beam"].side == "above"
    assert gaps["away"].beyond_reach
    assert gaps["away"].verdict is Verdict.CLEAR


def test_findings_name_what_is_not_clear(assessed):
    _, result, *_ = assessed
    words = {f.where: f for f in result.findings}
    assert words["clearance/lower/car/foul"].code == "CL101"
    assert words["clearance/lower/car/foul"].severity is Severity.STOP
    assert "right" in words["clearance/lower/car/foul"].remedy
    assert "clearance/lower/car/away" not in words


def test_replay_gives_equal_numbers(assessed):
    run, result, inputs, *_ = assessed
    again = run(inputs, result.choices)
    for a, b in zip(result.gaps, again.gaps, strict=True):
        assert a.gap.value == b.gap.value
        assert np.array_equal(a.gap.jac, b.gap.jac)
        assert a.margin_gap.value == b.margin_gap.value
        assert a.verdict is b.verdict
        assert a.station == b.station or np.isnan(a.station)


def test_the_jacobian_is_that_of_the_held_gap(assessed):
    run, result, inputs, *_ = assessed
    for k, item in enumerate(inputs.items):
        step = 1e-3 * item.sd
        values = inputs.values
        values[k] += step
        ahead = run(inputs.with_values(values), result.choices)
        values[k] -= 2 * step
        behind = run(inputs.with_values(values), result.choices)
        for gap, a, b in zip(result.gaps, ahead.gaps, behind.gaps, strict=True):
            for name in ("gap", "margin_gap"):
                slope = float(getattr(a, name).value - getattr(b, name).value) / (2 * step)
                assert getattr(gap, name).jac[k] * item.sd == pytest.approx(
                    slope * item.sd, rel=1e-4, abs=1e-7
                ), item.id


def test_the_held_gap_follows_the_searched_one(assessed):
    run, result, inputs, *_ = assessed
    rng = np.random.default_rng(0)
    delta = rng.standard_normal(len(inputs)) * inputs.sds * 0.05
    searched = run(inputs.with_values(inputs.values + delta))
    for before, after in zip(result.gaps, searched.gaps, strict=True):
        if before.beyond_reach:
            continue
        predicted = before.gap.value + before.gap.jac @ delta
        assert after.gap.value == pytest.approx(
            predicted, abs=0.004 + 0.02 * abs(predicted - before.gap.value)
        )


def test_a_suspect_that_would_change_the_word_leaves_it_not_proven(assessed):
    run, result, inputs, *_ = assessed
    gap = by_part(result)["beam"]
    assert gap.verdict is Verdict.CLEAR
    column = int(np.argmax(np.abs(gap.gap.jac)))
    slip = 2.0 * gap.gap.value / gap.gap.jac[column]

    def shift(name: str, size: float) -> SuspectShift:
        return SuspectShift(
            id=name, columns=(column,), slips=constant(np.array([size]), len(inputs)), moves=np.array([size])
        )

    suspects = (shift("tape 7", slip), shift("tape 8", 0.0))
    found = by_part(run(inputs, result.choices, trust=Trust(suspects=suspects)))["beam"]
    assert found.verdict is Verdict.NOT_PROVEN
    assert found.suspects == ("tape 7",)
    assert "tape 7" in found.reason


def simple(shape, *, over_line="lower", surveyed=None, **settings):
    line = make_line(knots=[0.0, 1000.0], curvature=[0.0, 0.0], surveyed=surveyed)
    inputs = Inputs(items=(Input(id="w", value=0.0, sd=0.2, unit="mm", label="", kind="size"),))
    vehicle = replace(car(), size_inputs=VehicleInputs(width="w"))
    wanted = ClearanceInput(
        runs=(Run(line=over_line, vehicle=vehicle),), **({"margin_side": 1.0, "margin_above": 1.0} | settings)
    )
    return assess(inputs, {"lower": line}, (shape,), wanted)


def test_half_the_width_error_goes_to_each_side():
    (gap,) = simple(box("post", [500.0, 25.0, 20.0], (10.0, 10.0, 30.0))).gaps
    assert gap.gap.value == pytest.approx(2.0)
    assert gap.gap.jac[0] == pytest.approx(-0.5)
    assert gap.u == pytest.approx(0.1)
    assert gap.margin_gap.value == pytest.approx(1.0)
    assert gap.verdict is Verdict.CLEAR


def test_a_gap_on_ground_not_surveyed_is_never_clear():
    # one end of the car passes the post while the other is beyond the survey, just as close
    for station, surveyed in ((60.0, (0.0, 1000.0)), (500.0, (450.0, 1000.0))):
        found = simple(box("post", [station, 25.0, 20.0], (10.0, 10.0, 30.0)), surveyed=surveyed).gaps[0]
        assert found.gap.value == pytest.approx(2.0)
        assert found.verdict is Verdict.NOT_PROVEN
        assert found.reason == "not surveyed"
        assert not found.surveyed
    assert (
        simple(box("post", [500.0, 25.0, 20.0], (10.0, 10.0, 30.0)), surveyed=(0.0, 1000.0)).gaps[0].surveyed
    )


def test_a_part_over_another_line_is_left_out():
    part = box("girder", [500.0, 25.0, 20.0], (10.0, 10.0, 30.0), over="upper")
    assert simple(part).gaps == ()


def test_a_size_error_that_was_read_moves_the_gap():
    line, _, settings, inputs = scene()
    values = inputs.values
    values[inputs.column("width")] = 0.4
    moved = inputs.with_values(values)
    one = {"column": PLACES["column"]}
    before = assess(inputs, {"lower": line_of(inputs, line)}, shapes_of(inputs, one), settings).gaps[0]
    result = assess(moved, {"lower": line_of(moved, line)}, shapes_of(moved, one), settings)
    after = result.gaps[0]
    assert after.gap.value - before.gap.value == pytest.approx(
        before.gap.jac[inputs.column("width")] * 0.4, abs=0.006
    )
    again = assess(
        moved, {"lower": line_of(moved, line)}, shapes_of(moved, one), settings, choices=result.choices
    )
    assert again.gaps[0].gap.value == after.gap.value


def test_questions_that_cannot_be_meant():
    part = box("post", [500.0, 25.0, 20.0], (10.0, 10.0, 30.0))
    with pytest.raises(InputError, match="middle"):
        simple(part, over_line="middle")
    with pytest.raises(InputError, match=r"-1\.0"):
        simple(part, margin_side=-1.0)
    line, _, settings, inputs = scene()
    with pytest.raises(InputError, match="no witness is held"):
        assess(inputs, {"lower": line_of(inputs, line)}, shapes_of(inputs, PLACES), settings, choices={})


@pytest.mark.parametrize(
    ("x", "y", "surveyed"),
    [(500.0, 30.0, True), (1500.0, 0.0, False), (1030.0, 200.0, False), (500.0, 400.0, True)],
)
def test_what_stands_past_the_last_mark_is_not_called_clear(x, y, surveyed):
    """On the line's continuation at any distance; aside of it within a body's length of the end."""
    (gap,) = simple(box("post", (x, y, 30.0), (5.0, 5.0, 60.0))).gaps
    assert gap.surveyed is surveyed
    if not surveyed:
        assert gap.verdict is not Verdict.CLEAR
        assert "not surveyed" in gap.reason


def test_lines_that_do_not_follow_their_marks_prove_nothing(assessed):
    run, result, inputs, *_ = assessed
    found = run(inputs, result.choices, trust=Trust(untrusted="line lower does not follow its marks"))
    assert not {g.verdict for g in found.gaps} & {Verdict.CLEAR, Verdict.TIGHT}
    assert "does not follow" in by_part(found)["beam"].reason


def test_a_doubt_that_is_held_wider_takes_words_back_and_is_replayed(assessed):
    run, result, inputs, *_ = assessed
    before = by_part(result)["column"]
    assert before.verdict is Verdict.CLEAR
    # so wide that the margin is no longer proven
    wider = 1.01 * float(before.margin_gap.value) / (2.0 * before.margin_u)
    choices = result.choices | {before.id: replace(result.choices[before.id], wider=wider)}
    found = run(inputs, choices)
    after = by_part(found)["column"]
    assert after.verdict is not Verdict.CLEAR
    assert (after.wider, after.u) == (wider, wider * before.u)
    assert after.margin_u == wider * before.margin_u
    assert after.gap.value == before.gap.value
    noted = [f for f in found.findings if f.code == "CL109"]
    assert [f.where for f in noted] == [before.id]
    again = run(inputs, found.choices)
    assert by_part(again)["column"].margin_u == after.margin_u
    assert {k: g for k, g in by_part(found).items() if g.wider != 1.0} == {"column": after}
