"""As-built rows: every bearing, cap, column and edge has one, and limits that follow by hand arithmetic."""

from collections import Counter
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from spanwright.alignment.line import height_at
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.parts.given import PartsInput
from truth.build_cases import JOBS, built, made_up


def rows(build):
    return {r.id: r for r in build.as_built}


def test_rows_stand_once_and_each_is_taken_in_one_step(case):
    build = built(case)
    ids = [r.id for r in build.as_built]
    assert len(ids) == len(set(ids))
    taken = Counter(key for s in build.steps for key in s.gives)
    assert {key: taken[key] for key in ids} == dict.fromkeys(ids, 1)


def test_every_bearing_support_and_span_has_its_rows(case):
    found = rows(built(case))
    level = {s.given.name for s in case.structures.supports if s.seats[0].edge is None}
    for b in case.structures.bearings:
        assert f"as built/{b.id}/girder top" in found
        assert (f"as built/{b.id}/seat" in found) == (b.support not in level)
    for s in case.structures.supports:
        assert sum(r.belongs == s.given.name and r.id.endswith("/railhead") for r in found.values()) == 2
        for cut in s.cuts:
            assert {f"opened/{cut.id}", f"as built/{cut.id}/length", f"as built/{cut.id}/cap top"} <= set(
                found
            )
        faces = [k for k in found if k.startswith(f"as built/{s.given.name}/column") and k.endswith("face")]
        assert len(faces) == (2 if len(s.cuts) == 2 else 0)
    for span in case.structures.spans:
        assert f"as built/{span.axis.given.name}/mid span" in found


def test_each_row_names_a_number_of_the_plan_or_an_input(case):
    known = {q.id for q in case.structures.quantities} | {i.id for i in case.inputs.items}
    for row in built(case).as_built:
        assert row.number in known or row.number == "subroadbed/room", row.id


def test_planned_values_pass_their_own_limits(case):
    for row in built(case).as_built:
        value = float(row.planned.value)
        assert row.low is None or row.low <= value + 1e-9, row.id
        assert row.high is None or value <= row.high + 1e-9, row.id


def test_limits_by_hand():
    # level track 80 mm up; rail 1.4, tie 1.6 less a dap of 0.2, girder 13, shoe 1.2: seat at 63, base at 1
    case = made_up("one span", PartsInput(tolerance=0.2))
    found = rows(built(case))
    seat = found["as built/p/P/left/seat"]
    assert [float(seat.planned.value), seat.low, seat.high] == pytest.approx([62.0, 61.8, 62.2])
    top = found["as built/p/P/left/girder top"]
    assert float(top.planned.value) == pytest.approx(80.0 - 1.4 - 1.6 + 0.2 - 1.0)
    # packing from 0.25 to 2 mm; the cap is 3 mm thick
    cap = found["as built/p/shaft/cap top"]
    assert [cap.low, cap.high] == pytest.approx([60.0, 61.75])
    shaft = found["as built/p/shaft/length"]
    assert [shaft.low, shaft.high] == pytest.approx([57.0, 58.75])
    opened = found["opened/p/shaft"]
    # k times the doubt: only the base is not exact, 0.25 mm
    assert [float(opened.planned.value), opened.low, opened.high] == pytest.approx([79.0, 78.5, 79.5])


def test_a_column_is_measured_from_the_inner_face_of_the_nearer_rail(demo):
    row = rows(built(demo))["as built/bent/column left/face"]
    gauge = sum(demo.inputs[k].value for k in demo.lower.gauge.ids) / len(demo.lower.gauge.ids)
    assert float(row.planned.value) == pytest.approx(16.2 - gauge / 2.0)
    assert row.high - row.low == pytest.approx(2 * 2 * demo.inputs["supports/bent/clear/left"].sd)
    bare = rows(built(SimpleNamespace(**{**vars(demo), "lower": None})))["as built/bent/column left/face"]
    assert float(bare.planned.value) == pytest.approx(16.2)


def test_the_board_s_edge_is_read_where_there_is_one(board):
    case = made_up("one span", PartsInput())
    assert not [k for k in rows(built(case)) if "/opening " in k]
    with_board = made_up("one span", PartsInput(subroadbed=replace(board, thickness=case.given.tie)))
    edges = [r for k, r in rows(built(with_board)).items() if "/opening " in k]
    assert [(r.low, r.high) for r in edges] == [(3.0, None)] * 2


@pytest.mark.parametrize("name", ["demo", "oo", "h0"])
def test_the_railhead_to_read_is_the_fitted_line_s_over_the_middle_of_the_support(name):
    plan = derive(replace(load_job(JOBS[name]), clearance=None))
    job, line = plan.job, plan.alignment.line(plan.job.structures.upper)
    case = SimpleNamespace(
        given=job.structures,
        parts=job.parts or PartsInput(),
        inputs=plan.alignment.inputs,
        structures=plan.structures,
        lower=None,
    )
    found = rows(built(case))
    for support in plan.structures.supports:
        over = float(height_at(line, np.array([support.station]))[0])
        for cut in support.cuts:
            planned = float(found[f"opened/{cut.id}"].planned.value)
            assert planned == pytest.approx(over - float(cut.base.value), abs=0.03), cut.id


def test_both_columns_of_a_bent_at_their_limits_leave_room_for_packing(demo):
    # the cap is a straight beam on its two columns: its top at a bearing follows by the lever
    found, packing = rows(built(demo)), demo.given.packing
    (bent,) = (s for s in demo.structures.supports if s.given.name == "bent")
    shapes = {s.part: s.vertices for s in demo.structures.shapes}
    feet = [shapes[f"bent/column {side}"][:, :2].mean(axis=0) for side in ("left", "right")]
    for limit, least, most in (("high", packing.thinnest, np.inf), ("low", -np.inf, packing.most)):
        tops = [getattr(found[f"as built/{c.id}/cap top"], limit) + float(c.base.value) for c in bent.cuts]
        for b in (b for b in demo.structures.bearings if b.support == "bent"):
            place = np.array([float(b.x.value), float(b.y.value)])
            way = feet[1] - feet[0]
            share = float((place - feet[0]) @ way / (way @ way))
            gap = float(b.seat.value) - (tops[0] + share * (tops[1] - tops[0]))
            assert least - 1e-9 <= gap <= most + 1e-9, (limit, b.id)
