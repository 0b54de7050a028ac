"""The hand calculation in docs/: its sums are redone with plain arithmetic and held to the plan."""

from __future__ import annotations

import importlib.util
import math
import re
from pathlib import Path

import pytest

DOCS = Path(__file__).resolve().parents[3] / "docs"
NUMBER = re.compile(r"-?\d+\.\d{3}\b")
MM = 0.01
#: A sum of about ten numbers that are each printed to 0.001.
SUM = 0.004


@pytest.fixture(scope="module")
def maker():
    spec = importlib.util.spec_from_file_location("make_hand_calculation", DOCS / "make_hand_calculation.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def plan(maker):
    return maker.demo_plan()


@pytest.fixture(scope="module")
def text(maker):
    return maker.PAGE.read_text(encoding="utf-8")


def tables(text: str) -> dict[str, dict[str, list[float]]]:
    """Tables by their second heading cell: row name -> numbers."""
    found = {}
    for block in re.findall(r"(?:^\|.*\|\n)+", text, re.MULTILINE):
        rows = [[c.strip() for c in line.strip("|").split("|")] for line in block.strip().split("\n")]
        body = {r[0]: [float(n) for c in r[1:] for n in NUMBER.findall(c)] for r in rows[2:]}
        found[rows[0][-1]] = body
    return found


@pytest.fixture(scope="module")
def page(text):
    return tables(text)


def named(text: str, what: str) -> float:
    return float(re.search(re.escape(what) + r"[^\d-]*?(-?\d+\.\d+)", text)[1])


def test_page_is_not_stale(maker, plan, text):
    fresh = maker.page(plan)
    assert NUMBER.sub("#", fresh) == NUMBER.sub("#", text), "run: python docs/make_hand_calculation.py"
    pairs = zip(NUMBER.findall(fresh), NUMBER.findall(text), strict=True)
    # the last digit may round differently on another machine
    assert all(abs(float(a) - float(b)) < 0.0015 for a, b in pairs), (
        "run: python docs/make_hand_calculation.py"
    )


def railheads(page, text) -> dict[str, float]:
    apart = named(text, "The rail heads are")
    return {name: z - cant * offset / apart for name, (_, z, cant, offset, _) in page["railhead H"].items()}


def test_railheads_follow_from_height_cant_and_offset(page, text, plan):
    reckoned = railheads(page, text)
    assert len(reckoned) == 8
    for name, value in reckoned.items():
        assert value == pytest.approx(page["railhead H"][name][-1], abs=SUM), name


def test_means_of_the_caliper_readings(page):
    for name, (*readings, mean) in page["mean"].items():
        assert sum(readings) / len(readings) == pytest.approx(mean, abs=0.0006), name


def corners(page, text, span: str) -> list[float]:
    """Railheads of a span: start left, start right, end left, end right, as the table lists them."""
    return [h for name, h in railheads(page, text).items() if f", {span}, " in name]


@pytest.mark.parametrize("span", ["span A", "span B"])
def test_twist_of_each_span(page, text, plan, span):
    a, b, c, d = corners(page, text, span)
    twist, quarter = page["a quarter"][span]
    assert a - b - c + d == pytest.approx(twist, abs=SUM)
    assert (a - b - c + d) / 4 == pytest.approx(quarter, abs=SUM)
    rocks = next(q for q in plan.structures.quantities if q.id == f"{span}/rocks by")
    assert a - b - c + d == pytest.approx(float(rocks.value.value), abs=MM)


def seats_by_hand(page, text) -> dict[str, float]:
    """From height and cant of the track and the single caliper readings down to each seat."""
    mean = {name: sum(r[:-1]) / len(r[:-1]) for name, r in page["mean"].items()}
    heads = railheads(page, text)
    found = {}
    for name in page["= seat"]:
        _, span, side = name.split(", ")
        a, b, c, d = corners(page, text, span)
        at_end = span == "span A"  # pier 1 is the end of span A and the start of span B
        sign = {"aisle": 1.0, "wall": -1.0}[side] * (-1.0 if at_end else 1.0)
        twist = sign * (a - b - c + d) / 4
        top = heads[name] - mean["rail"] - mean["tie"] + mean["dap"] - twist
        found[name] = top - mean[f"girder, {span}, {side}"] - mean["shoe"]
    return found


def test_the_four_seats(maker, plan, page, text):
    by_hand = seats_by_hand(page, text)
    assert len(by_hand) == 4
    for b in maker.bearings_at(plan):
        assert by_hand[maker.label(b)] == pytest.approx(float(b.seat.value), abs=MM), b.id
        assert page["= seat"][maker.label(b)][-1] == pytest.approx(float(b.seat.value), abs=MM)


def test_each_row_of_the_build_up_adds_up(page):
    for name, (railhead, rail, tie, dap, twist, top, girder, shoe, seat) in page["= seat"].items():
        assert railhead - rail - tie + dap - twist == pytest.approx(top, abs=SUM), name
        assert top - girder - shoe == pytest.approx(seat, abs=SUM), name


def test_the_doubt_is_the_root_of_the_squares_of_its_parts(maker, plan, page):
    parts = page["span B, wall"]
    total = parts.pop("root of the sum of squares")
    for k, b in enumerate(maker.bearings_at(plan)):
        reckoned = math.sqrt(sum(row[k] ** 2 for row in parts.values()))
        assert reckoned == pytest.approx(total[k], abs=0.002)
        assert reckoned == pytest.approx(page["w - k u"][maker.label(b)][2], abs=0.002)
        # the plan's own doubt of the packing, before anything is made, is the same number
        packing = next(s for s in maker.pier_of(plan).seats if s.bearing == b.id).packing
        assert reckoned == pytest.approx(float(packing.sd(plan.inputs.sds)), abs=0.002)
    parts["root of the sum of squares"] = total


def test_the_length_of_the_shaft(maker, plan, page, text):
    seats = seats_by_hand(page, text)
    below = sum(named(text, w) for w in ("- thinnest packing", "- cap", "- footing", "- ground g2, adjusted"))
    safe = []
    for name, (_, wanted, u, printed) in page["w - k u"].items():
        assert seats[name] - below == pytest.approx(wanted, abs=SUM)
        safe.append(seats[name] - below - 2.0 * u)
        assert safe[-1] == pytest.approx(printed, abs=SUM + 0.002)
    length = math.floor(min(safe) * 10.0) / 10.0
    cut = maker.pier_of(plan).cuts[0]
    assert length == pytest.approx(named(text, "**cut the shaft to"), abs=1e-9)
    assert length == pytest.approx(cut.length, abs=MM)
    lowest = min(seats.values()) - below
    assert lowest == pytest.approx(float(cut.wanted.value), abs=MM)
    assert lowest - length == pytest.approx(named(text, "lowest bearing by"), abs=SUM)
    assert named(text, "the kit's shaft is") - length == pytest.approx(float(cut.trimmed.value), abs=MM)


def test_the_packing_that_is_left(maker, plan, page, text):
    pier = maker.pier_of(plan)
    made = (named(text, w) for w in ("- ground g2, adjusted", "- footing", "**cut the shaft to", "- cap"))
    top = sum(made)
    assert top == pytest.approx(float(pier.cap_top.value), abs=MM)
    seats = seats_by_hand(page, text)
    for b, seat in zip(maker.bearings_at(plan), pier.seats, strict=True):
        assert seat.bearing == b.id
        name = maker.label(b)
        assert seats[name] - top == pytest.approx(float(seat.packing.value), abs=MM), name
        assert page["packing"][name][-1] == pytest.approx(float(seat.packing.value), abs=MM)
