"""The steps follow from the structure: what waits for what, what is named, where it can hurt."""

import re
from dataclasses import replace

import numpy as np
import pytest

from spanwright.build.cautions import list_cautions
from spanwright.build.order import before, in_order
from spanwright.build.step import told_way
from spanwright.build.steps import sheets_of
from spanwright.build.telling import Said, tell
from spanwright.build.work import glue_order
from spanwright.clearance.stage import ClearanceResult, Gap
from spanwright.drawings.speech import Speech, Words
from spanwright.estimation.derived import constant
from spanwright.findings import Verdict
from spanwright.parts.given import PartsInput
from spanwright.parts.pieces import Hazard, How, made_last
from spanwright.structures.given import SupportKind
from truth.build_cases import built, from_job, made_up

BC = ("span B", "span C")


def by_id(build):
    return {s.id: s for s in build.steps}


def place(build, key):
    return [s.id for s in build.steps].index(key)


def with_board(case, board):
    return replace(case.parts, subroadbed=replace(board, thickness=case.given.tie))


def test_each_step_stands_after_what_it_needs(case):
    steps = built(case).steps
    for number, step in enumerate(steps):
        assert set(step.needs) <= {s.id for s in steps[:number]}, step.id
    assert in_order(steps) == steps


def test_nothing_is_cut_before_it_is_settled_and_read(case):
    build = built(case)
    for step in build.steps:
        earlier = before(build.steps, step.id)
        if step.cuts:
            assert "settle" in earlier, step.id
            assert step.waits_for, step.id
        if step.id.startswith("cut/"):
            assert "read the line again" in earlier, step.id


def test_every_piece_is_used_in_a_step_and_cut_in_one_before_it_is_glued(case):
    build = built(case)
    used = {p for s in build.steps for p in s.pieces}
    assert {p.id for p in build.pieces} <= used
    known = {p.id for p in build.pieces}
    assert used <= known
    cut = {p for s in build.steps for p in s.cuts}
    to_cut = {p.id for p in build.pieces if p.how in (How.CUT, How.TRIM, How.MAKE)}
    assert to_cut - {"board/strongback", "board/hangers"} <= cut


def test_board_opens_in_order_and_the_line_is_read_again_before_piers(board):
    case = made_up("four spans")
    case.parts = with_board(case, board)
    build = built(case)
    keys = [f"board/{k}" for k in ("check", "strongback", "pilots", "underside", "saw", "file")]
    order = ["calibrate", *keys, "read the line again", "cut/q", "dry fit"]
    assert [place(build, k) for k in order] == sorted(place(build, k) for k in order)
    for pier in ("q", "r", "s"):
        earlier = before(build.steps, f"cut/{pier}")
        assert {"read the line again", "board/saw", "board/strongback"} <= earlier
    assert "board/strongback" in before(build.steps, "board/saw")


def test_without_a_board_nothing_is_opened():
    keys = [s.id for s in built(made_up("one span")).steps]
    assert not [k for k in keys if k.startswith("board/")]
    assert "read the line again" in keys


def test_finish_and_glue_come_in_the_trade_s_order(case):
    build = built(case)
    order = [
        "dry fit",
        "clearance run",
        "take down",
        "prime",
        "paint",
        "weather",
        "ties and rails",
        "test run",
    ]
    assert [place(build, k) for k in order] == sorted(place(build, k) for k in order)
    for step in build.steps:
        if step.id.startswith("glue/"):
            assert {"clearance run", "weather"} <= before(build.steps, step.id)
    assert build.steps[-1].id == "test run"
    if "handrails" in by_id(build):
        assert build.steps[-2].id == "handrails"


def glued(build):
    return [s.id.removeprefix("glue/") for s in build.steps if s.id.startswith("glue/")]


def test_abutments_are_glued_first_then_the_key_pier_then_the_ends_before_the_middle():
    case = made_up("four spans")
    # with nothing else said the pier nearest the middle is the key; of the others the ends come first
    assert glued(built(case)) == ["p", "t", "r", "q", "s"]
    fixed = [replace(s, along=None if s.name != "s" else 95.0) for s in case.given.supports]
    again = made_up("four spans")
    for fitted, support in zip(again.structures.supports, fixed, strict=True):
        object.__setattr__(fitted, "given", support)
    assert glued(built(again)) == ["p", "t", "s", "q", "r"]


def test_the_bent_is_the_key_where_no_unit_spans_it(demo):
    demo_parts = replace(demo.parts, units=())
    build = built(type(demo)(**{**vars(demo), "parts": demo_parts}))
    assert glued(build) == ["town abutment", "yard abutment", "bent", "pier 1"]
    assert not [s for s in build.steps if s.id.startswith("gap/")]


def test_what_a_unit_spans_is_made_last_to_a_measured_gap(demo):
    parts = replace(demo.parts, units=(BC,))
    build = built(type(demo)(**{**vars(demo), "parts": parts}))
    assert made_last(demo.given, parts) == ("bent",)
    assert glued(build)[-1] == "bent"
    assert before(build.steps, "cut/bent") >= {"join/span B + span C", "dry fit", "gap/bent"}
    assert set(by_id(build)["cut/bent"].waits_for) == set(by_id(build)["gap/bent"].gives)
    assert len(by_id(build)["gap/bent"].gives) == 4
    assert before(build.steps, "glue/bent") >= {"set/span B + span C", "pack/pier 1", "pack/yard abutment"}
    assert "clearance run" not in before(build.steps, "cut/bent")
    assert "stand/bent" in before(build.steps, "clearance run")
    # the spans are set as one, on the unit's two ends
    assert {"set/span A", "set/span B + span C"} <= set(by_id(build))
    assert "set/span B" not in by_id(build)
    columns = [p for p in build.pieces if p.id.startswith("bent/column")]
    assert [s.cut for p in columns for s in p.sizes if s.name == "height"] == [None, None]


def test_every_bearing_is_packed_with_its_stick_before_its_span_is_set(case):
    build = built(case)
    last = made_last(case.given, case.parts)
    steps = by_id(build)
    for b in case.structures.bearings:
        pack = steps[f"pack/{b.support}"]
        assert {f"{b.id}/packing", f"stick/{b.id}"} <= set(pack.pieces)
        of_span = [s for s in build.steps if s.id.startswith("set/") and f"{b.span}/girder left" in s.pieces]
        assert len(of_span) == 1
        assert (pack.id in before(build.steps, of_span[0].id)) == (b.support not in last)


WORDS = {
    "saw": {Hazard.SAW, Hazard.SAW_UNDER_LAYOUT},
    "chopper": {Hazard.SAW, Hazard.BLADE},
    "drill": {Hazard.SAW_UNDER_LAYOUT},
    "knife": {Hazard.BLADE},
    "spray": {Hazard.SPRAY},
    "vacuum": {Hazard.DUST},
    "file": {Hazard.DUST},
    "straightedge": {Hazard.METAL_ON_RAILS},
    "vehicles": {Hazard.MOVING_TRAIN},
}
CURES = {
    "glue": Hazard.SOLVENT,
    "primer": Hazard.SPRAY,
    "paint": Hazard.SPRAY,
    "weather": Hazard.SPRAY,
    "plaster": Hazard.PLASTER,
}


def test_a_caution_stands_wherever_it_can_hurt(case, board):
    case = type(case)(**{**vars(case), "parts": with_board(case, board)})
    build = built(case)
    hurts = {p.id: set(p.hazards) for p in build.pieces}
    seen = set()
    for step in build.steps:
        for tool in step.tools:
            for name, hazards in WORDS.items():
                on_jig = name == "straightedge" and step.id.startswith("join/")
                if re.search(rf"\b{name}", tool) and not on_jig:
                    assert hazards & set(step.hazards), (step.id, tool)
        for wait in step.waits:
            for name, hazard in CURES.items():
                assert name not in wait.of or hazard in step.hazards, (step.id, wait.of)
        for piece in set(step.cuts) - seen:  # where it is cut first; later it is only trimmed
            assert hurts[piece] <= set(step.hazards), (step.id, piece)
        seen |= set(step.cuts)
        assert len(step.cautions) == len(set(step.hazards)) == len(step.hazards), step.id
        assert all("\n" not in line for line in step.cautions)


def test_cautions_name_all_hazards_and_their_sources():
    cautions = list_cautions()
    assert [c.hazard for c in cautions] == list(Hazard)
    assert all(c.line and c.more and c.source for c in cautions)
    assert "CLEAPSS" in next(c for c in cautions if c.hazard is Hazard.PLASTER).source


def speech(case):
    words = case.words or Words(left="aisle", right="wall", start="town", finish="yard")
    return Speech(words=words, inputs=case.inputs, k=case.given.k)


def test_every_sentence_can_be_said(case):
    say, build = speech(case), built(case)
    said = [tell(t, say) for s in build.steps for t in (s.title, *s.lines)]
    said += [tell(told_way(a), say) for s in build.steps for a in s.access]
    said += [tell(t, say) for r in build.as_built for t in (r.what, r.surface)]
    said += [say.text(t) for p in build.pieces for t in (p.name, p.corrected_at, p.after, p.mark)]
    for text in said:
        assert "{" not in text
        assert "inf" not in text.split()
        assert "nan" not in text


def test_an_inch_job_speaks_in_inches():
    case = from_job("oo")
    say = speech(case)
    for step in built(case).steps:
        assert " mm" not in " ".join(tell(t, say) for t in (step.title, *step.lines)), step.id


def gap(part, verdict, value, margin, line="lower", vehicle="tall car"):
    return Gap(
        id=f"clearance/{line}/{vehicle}/{part}",
        line=line,
        vehicle=vehicle,
        part=part,
        gap=constant(value, 0),
        u=0.1,
        margin_gap=constant(margin, 0),
        margin_u=0.1,
        verdict=verdict,
        reason="",
        suspects=(),
        side="left",
        travel="up",
        station=100.0,
        where=np.zeros(3),
        surveyed=True,
        beyond_reach=False,
        witness_gaps=(),
    )


def test_what_is_not_clear_is_settled_first_and_the_critical_vehicle_is_tried_first(demo):
    gaps = (
        gap("bent/cap", Verdict.NOT_PROVEN, 0.1, -1.4),
        gap("bent/column left", Verdict.TIGHT, 1.6, 0.1, vehicle="wide car"),
        gap("span A/girder left", Verdict.CLEAR, 5.0, 3.5),
        gap("pier 1/shaft", Verdict.FOUL, -0.7, -2.2, vehicle="long car"),
        gap("span B/ties", Verdict.FOUL, -np.inf, -np.inf, vehicle="long car"),
        gap("span C/handrail left", Verdict.TIGHT, 1.7, 0.2, line="upper", vehicle="coach"),
    )
    build = built(demo, ClearanceResult(gaps=gaps, findings=(), choices={}))
    say, steps = speech(demo), by_id(build)
    lines = [tell(t, say) for t in steps["settle"].lines]
    assert lines[:5] == [
        "long car against span B, ties: foul. No move within reach frees it.",
        "long car against pier 1, shaft: foul. The part must move by 0.70 mm at the least.",
        "tall car against bent, cap: not proven. Gap 0.100 mm.",
        "wide car against bent, aisle column: tight. Gap 1.600 mm.",
        "coach against span C, aisle handrail: tight. Gap 1.700 mm.",
    ]
    first = [f for t in steps["clearance run"].lines for f in t.fillings if f.said is Said.PLACE]
    assert [f.value for f in first] == ["span B/ties"]
    handrails = [f.value for t in steps["handrails"].lines for f in t.fillings]
    assert handrails == ["coach", "span C/handrail left"]
    last = [f.value for t in steps["test run"].lines for f in t.fillings if f.said is Said.PLACE]
    assert last == ["span B/ties", "span C/handrail left"]
    assert "BU103" not in [f.code for f in build.findings]


def test_why_a_gap_is_not_proven_is_said(demo):
    open_gap = replace(gap("bent/cap", Verdict.NOT_PROVEN, 7.4, 5.9), reason="not surveyed")
    build = built(demo, ClearanceResult(gaps=(open_gap,), findings=(), choices={}))
    first = tell(by_id(build)["settle"].lines[0], speech(demo))
    assert first == "tall car against bent, cap: not proven, not surveyed. Gap 7.400 mm."


def test_trains_that_were_not_reckoned_are_said(case):
    assert "BU103" in [f.code for f in built(case).findings]


def test_a_hand_that_does_not_get_in_is_a_finding():
    # girders' undersides at 64.2, base at 1: 63.2 mm high; open from above without a board
    case = made_up("four spans")
    found = {(f.code, f.where): f for f in built(case).findings}
    assert not [k for k in found if k[0] == "BU101"]
    low = found["BU102", "r"]
    assert (low.value, low.limit) == (pytest.approx(63.2), 90.0)
    case.parts = PartsInput(hand=60.0)
    assert not [f for f in built(case).findings if f.code in ("BU101", "BU102")]


def test_through_a_narrow_opening_no_hand_gets_to_the_glue(board):
    case = made_up("one span")
    case.parts = with_board(case, board)
    findings = [f for f in built(case).findings if f.code == "BU101"]
    assert [f.where for f in findings] == ["p", "q"]
    # ties are 16.5 mm long and 3 mm are left at each side; under the girders there is more height
    access = by_id(built(case))["glue/p"].access
    assert access[0].width == pytest.approx(16.5 + 6.0)
    assert access[1].height == pytest.approx(63.2)


def test_a_step_finds_its_drawings_by_the_beginning_of_their_ids(demo):
    step = by_id(built(demo))["glue/bent"]
    known = (
        "card/bent/column left",
        "card/bent/column right",
        "card/pier 1/shaft",
        "seat/bent",
        "seat/bent 2",
    )
    assert sheets_of(step, known) == (
        "card/bent/column left",
        "card/bent/column right",
        "seat/bent",
        "seat/bent 2",
    )


def test_glue_order_names_each_support_once(case):
    order = glued(built(case))
    assert sorted(order) == sorted(s.name for s in case.given.supports)
    ends = [s.name for s in case.given.supports if s.kind is SupportKind.ABUTMENT]
    assert order[: len(ends)] == ends
    assert glue_order.__doc__
