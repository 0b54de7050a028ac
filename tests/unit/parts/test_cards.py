"""Half-profile cards: what they pass and what they touch, and how they stand on the rails."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import assess
from spanwright.estimation.inputs import size
from spanwright.parts.cards import Feet, card_outline, profile_cards, track_feet
from spanwright.parts.envelope import (
    grown,
    half_profile,
    outermost,
    section_envelope,
    shape_section,
    track_plane,
)

FEET = Feet(gauge=9.0, head=0.6, deep=0.7, wide=1.4, play=0.3, rail=1.4)
OUTSIDE = 5.1


@pytest.fixture(scope="module")
def demo_cards(demo_job, demo_plan):
    track = next(x for x in demo_job.lines if x.name == "lower")
    return profile_cards(
        demo_job.structures, demo_plan.structures, demo_plan.alignment, demo_job.clearance, track=track
    )


def made(edge):
    return shapely.Polygon(card_outline(np.asarray(edge, float), FEET))


def test_the_demo_has_a_card_for_what_stands_near_and_says_why_not_for_the_rest(demo_cards):
    assert [(c.id, c.side) for c in demo_cards.cards] == [
        ("card/pier 1", "right"),
        ("card/bent/column left", "left"),
        ("card/bent/column right", "right"),
    ]
    assert {(s.part, s.reason) for s in demo_cards.skipped} == {
        ("town abutment", "far"),
        ("yard abutment", "far"),
    }
    assert demo_cards.findings == ()


def test_left_and_right_differ(demo_cards):
    """Both are drawn outward; the curve throws a train's middle to one side and its ends to the other."""
    left, right = (shapely.Polygon(card.outline) for card in demo_cards.cards[1:])
    assert left.symmetric_difference(right).area > 1.0


def test_every_card_is_one_piece_that_stands_on_both_rails(demo_cards):
    for card in demo_cards.cards:
        area = shapely.Polygon(card.outline)
        gauge, head = card.feet.gauge, card.feet.head
        assert area.is_valid
        assert area.exterior.is_ccw
        for s in (-1.0, 1.0):  # rests on the whole head, and does not run into the rail
            inner, outer = s * 0.5 * gauge, s * (0.5 * gauge + head)
            rail = shapely.box(min(inner, outer), -5.0, max(inner, outer), 0.0)
            assert area.intersection(rail).area == pytest.approx(0.0, abs=1e-9)
            railhead = shapely.LineString([(inner, 0.0), (outer, 0.0)])
            assert area.intersection(railhead).length == pytest.approx(head, abs=1e-9)
        below = area.intersection(shapely.box(-99.0, -99.0, 99.0, -1e-6))
        assert below.bounds == pytest.approx(
            (-(0.5 * gauge - card.feet.play), -card.feet.deep, 0.5 * gauge, 0.0), abs=1e-5
        )


def test_the_edge_keeps_the_margins_from_the_touching_line(demo_cards, demo_job):
    side, above = demo_job.clearance.margin_side, demo_job.clearance.margin_above
    for card in demo_cards.cards:
        assert card.edge[:, 0].max() == pytest.approx(card.touching[:, 0].max() + side, abs=1e-6)
        assert card.height == pytest.approx(card.touching[:, 1].max() + above, abs=1e-6)
        heights = np.linspace(card.touching[0, 1], card.touching[-1, 1], 200)[1:-1]
        edge, touching = (np.interp(heights, p[:, 1], p[:, 0]) for p in (card.edge, card.touching))
        assert np.all(edge >= touching + side - 2e-3)


def test_a_face_is_passed_when_the_margin_is_kept_and_touched_when_it_is_not(demo_job, demo_plan):
    """A post set by hand beside the swept envelope, at half the height of the trains."""
    line = demo_plan.alignment.line("lower")
    trains = tuple(r.vehicle for r in demo_job.clearance.runs if r.line == "lower")
    swept = section_envelope(line, trains, 444.5)
    edge = half_profile(grown(swept.region, 1.5, 1.5), "right")
    card = made(edge)
    reach = float(outermost(swept.region, np.linspace(15.0, 16.0, 21), "right").max())
    for gap, passes in ((1.52, True), (1.48, False)):
        post = shapely.box(reach + gap, 15.0, reach + gap + 4.0, 16.0)
        assert card.disjoint(post) is passes


def test_the_card_holds_the_envelope_all_along_what_it_serves(demo_cards, demo_job, demo_plan):
    line = demo_plan.alignment.line("lower")
    trains = tuple(r.vehicle for r in demo_job.clearance.runs if r.line == "lower")
    card = demo_cards.cards[0]
    for s in np.linspace(*card.stations, 5)[1:-1]:
        region = section_envelope(line, trains, float(s)).region
        heights = np.arange(3.0, 38.0, 0.5)
        there = np.interp(heights, card.touching[:, 1], card.touching[:, 0])
        assert np.all(outermost(region, heights, card.side) <= there + 0.01)


def test_the_nearest_train_and_its_gap_are_those_of_the_search_in_space(demo_job, demo_plan, demo_cards):
    card = demo_cards.cards[2]
    assert card.gap is None
    runs = tuple(r for r in demo_job.clearance.runs if r.line == "lower")
    column = tuple(s for s in demo_plan.structures.shapes if s.part == card.part)
    asked = ClearanceInput(runs=runs, margin_side=1.5, margin_above=1.5)
    line = demo_plan.alignment.line("lower")
    result = assess(demo_plan.inputs, {"lower": line}, column, asked)
    least = min(result.gaps, key=lambda g: float(g.gap.value))
    assert card.critical == least.vehicle
    assert card.room == pytest.approx(float(least.gap.value), abs=0.05)  # looked at in three planes only
    again = profile_cards(
        demo_job.structures,
        demo_plan.structures,
        demo_plan.alignment,
        demo_job.clearance,
        track=demo_job.lines[0],
        result=result,
    )
    assert again.cards[2].gap is least
    assert again.cards[1].gap is None  # nothing was reckoned for the other column


def test_a_hollow_never_cuts_the_card_in_two():
    card = made([(8, 2), (8, 10), (1, 10), (1, 20), (8, 20), (8, 30)])
    assert card.is_valid
    assert card.covers(shapely.box(0.1, 9.0, OUTSIDE - 0.1, 21.0))
    assert card.disjoint(shapely.box(OUTSIDE + 0.1, 11.0, 7.0, 19.0))


def test_a_pointed_roof_stays_pointed():
    card = made([(8, 2), (8, 20), (0, 28)])
    assert card.is_valid
    assert card.disjoint(shapely.Polygon([(1, 27.1), (8, 20.1), (8, 28)]))


def test_feet_are_the_tracks_own(demo_job, demo_plan):
    lower = next(x for x in demo_job.lines if x.name == "lower")
    feet = track_feet(lower, demo_job.structures, demo_plan.inputs)
    # gauge 9.03, 9.06, 9.02 as read; rail head 0.62; rail 1.40, 1.41, 1.40
    assert feet.gauge == pytest.approx((9.03 + 9.06 + 9.02) / 3.0)
    assert feet.head == pytest.approx(0.62)
    assert feet.deep == pytest.approx(0.5 * (1.40 + 1.41 + 1.40) / 3.0)
    assert feet.gauge + feet.head == pytest.approx(
        float(demo_plan.alignment.line("lower").head_distance.value)
    )
    assert float(size(demo_plan.inputs, lower.gauge).value) == pytest.approx(feet.gauge)


def changed(plan, **changes):
    laid = tuple(
        replace(x, line=replace(x.line, **changes)) if x.line.name == "lower" else x
        for x in plan.alignment.lines
    )
    return replace(plan.alignment, lines=laid)


def test_beyond_the_survey_is_a_finding(demo_job, demo_plan):
    cards = profile_cards(
        demo_job.structures,
        demo_plan.structures,
        changed(demo_plan, surveyed=(430.0, 470.0)),
        demo_job.clearance,
        track=demo_job.lines[0],
    )
    assert {f.code for f in cards.findings} == {"PA141"}
    assert {f.where for f in cards.findings} == {c.id for c in cards.cards}


def test_without_trains_there_is_no_card_and_it_is_said(demo_job, demo_plan):
    asked = replace(demo_job.clearance, runs=tuple(r for r in demo_job.clearance.runs if r.line == "upper"))
    cards = profile_cards(
        demo_job.structures, demo_plan.structures, demo_plan.alignment, asked, track=demo_job.lines[0]
    )
    assert cards.cards == ()
    assert {s.reason for s in cards.skipped} == {"no trains"}


def test_a_column_stands_outside_its_card_by_more_than_the_margin_or_is_touched(
    demo_cards, demo_job, demo_plan
):
    """The plan's own columns: the card passes where the room exceeds the margin, in the plane of the bent."""
    plane = track_plane(demo_plan.alignment.line("lower"), demo_plan.structures.choices.lower_station)
    for card in demo_cards.cards[1:]:
        shape = next(s for s in demo_plan.structures.shapes if s.part == card.part)
        sense = np.array([1.0 if card.side == "left" else -1.0, 1.0])
        column = shapely.transform(shape_section(shape, plane), lambda p, s=sense: p * s)
        assert card.room > demo_job.clearance.margin_side
        assert shapely.Polygon(card.outline).disjoint(column)
