from dataclasses import replace

import numpy as np
import pytest
from clearance_scenes import NARROW_BELOW, RECTANGLE, box, car, curved_line, make_line, together

from spanwright.clearance.engine.search import collect, copies
from spanwright.clearance.least_gap import are_free, least_gap, prepare
from spanwright.clearance.vehicles import Body, Play, Prism, Vehicle
from spanwright.clearance.witness import SearchSettings
from spanwright.errors import InputError
from spanwright.job import same

EXACT = SearchSettings()


def straight(**changes):
    return make_line(**({"knots": [0.0, 1000.0], "curvature": [0.0, 0.0]} | changes))


def gap_of(shape, line=None, vehicle=None, settings=EXACT):
    return least_gap(line or straight(), vehicle or car(), (shape,), settings)[0]


@pytest.mark.parametrize(
    ("centre", "gap", "side"),
    [
        ([500.0, 25.0, 20.0], 2.0, "left"),
        ([500.0, -26.0, 20.0], 3.0, "right"),
        ([500.0, 0.0, 66.0], 1.0, "above"),
        ([500.0, 26.0, 69.0], 5.0, "above"),  # 3 aside, 4 above: diagonal
    ],
)
def test_gaps_on_straight_track(centre, gap, side):
    height = 30.0
    found = gap_of(box("post", [*centre[:2], centre[2]], (10.0, 10.0, height)))
    assert found.gap == pytest.approx(gap, abs=1e-9)
    assert found.side == side
    assert found.surveyed
    assert found.normal @ found.normal == pytest.approx(1.0)


def test_an_overlap_has_no_gap_and_no_normal():
    found = gap_of(box("post", [500.0, 20.0, 20.0], (10.0, 10.0, 30.0)))
    assert found.gap == 0.0
    assert found.normal == pytest.approx(np.zeros(3))
    assert found.side == "left"


def test_a_part_inside_the_body_at_some_pose_is_an_overlap():
    assert gap_of(box("bolt", [500.0, 0.0, 20.0], (1.0, 1.0, 1.0))).gap == 0.0


def test_beyond_reach_is_only_said_to_be_more():
    found = gap_of(box("post", [500.0, 60.0, 20.0], (10.0, 10.0, 30.0)))
    assert found.beyond_reach
    assert found.gap == EXACT.reach


def test_play_is_part_of_the_body():
    part = box("post", [500.0, 28.0, 40.0], (10.0, 10.0, 40.0))
    free = gap_of(part).gap
    tight = gap_of(part, vehicle=car(play=Play(lateral=0.4, roll=0.01))).gap
    slope = np.tan(0.01)
    assert free - tight == pytest.approx((0.4 + 50 * slope), rel=0.02)


def test_ground_beyond_the_survey_is_looked_at_and_named():
    part = box("post", [-180.0, 25.0, 20.0], (10.0, 10.0, 30.0))
    found = gap_of(part)
    assert found.gap == pytest.approx(2.0, abs=1e-6)
    assert not found.surveyed


def test_the_end_poses_are_exact():
    part = box("buffer", [1000.0 + 230.0 + 115.0 + 7.0, 0.0, 20.0], (10.0, 10.0, 30.0))
    found = gap_of(part)
    assert found.gap == pytest.approx(2.0, abs=1e-9)
    assert found.station == pytest.approx(1230.0, abs=1e-9)
    assert found.side == "ahead"


def test_a_concave_section_is_not_its_hull():
    sill = box("sill", [500.0, 18.0, 15.0], (300.0, 8.0, 20.0))
    assert gap_of(sill, vehicle=car(NARROW_BELOW)).gap == pytest.approx(2.0, abs=1e-6)
    assert gap_of(sill, vehicle=car(RECTANGLE)).gap == 0.0


def test_of_several_bodies_the_closest_counts():
    low = Prism(rear=-60.0, front=60.0, section=RECTANGLE)
    wide = Prism(rear=-60.0, front=60.0, section=RECTANGLE * [1.1, 1.0])
    bodies = tuple(Body(name=n, truck_spacing=80.0, prisms=(p,)) for n, p in (("a", low), ("b", wide)))
    found = gap_of(
        box("post", [500.0, 25.0, 20.0], (10.0, 10.0, 30.0)),
        vehicle=Vehicle(id="set", name="set", bodies=bodies),
    )
    assert found.body == 1
    assert found.gap == pytest.approx(20.0 - 19.8, abs=1e-6)


def test_every_part_gets_its_own_witness_in_order():
    parts = tuple(box(f"post {k}", [200.0 + 100 * k, 24.0 + k, 20.0], (10.0, 10.0, 30.0)) for k in range(5))
    found = least_gap(straight(), car(), parts, EXACT)
    assert [w.part for w in found] == [p.part for p in parts]
    assert [w.gap for w in found] == pytest.approx([1.0 + k for k in range(5)], abs=1e-6)


def test_near_equal_witnesses_are_kept():
    post = (10.0, 10.0, 30.0)
    pair = together("pair", [box("a", [300.0, 25.0, 20.0], post), box("b", [600.0, -25.4, 20.0], post)])
    only = least_gap(straight(), car(), (pair,), EXACT)
    both = least_gap(straight(), car(), (pair,), SearchSettings(also_within=1.0))
    assert len(only) == 1
    gaps = sorted(w.gap for w in both)
    assert gaps[0] == pytest.approx(2.0, abs=1e-6)
    assert {w.side for w in both} == {"left", "right"}
    assert len(both) <= 5


def test_a_wall_of_even_gap_gives_a_handful_of_witnesses():
    wall = together(
        "wall", [box("w", [x, 21.0, 20.0], (20.0, 4.0, 30.0)) for x in np.arange(300.0, 700.0, 20.0)]
    )
    found = least_gap(straight(), car(), (wall,), SearchSettings(also_within=1.0))
    assert 2 <= len(found) <= 5
    assert [w.gap for w in found] == pytest.approx([1.0] * len(found), abs=1e-6)
    points = np.array([w.part_point for w in found])
    apart = np.linalg.norm(points[:, None] - points[None], axis=2) + 1e3 * np.eye(len(found))
    assert apart.min() > 10.0  # each a place of its own on the part


def scattered(seed, n=6):
    rng = np.random.default_rng(seed)
    return tuple(
        box(
            f"part {k}",
            [rng.uniform(200, 700), rng.uniform(-60, 120), rng.uniform(0, 90)],
            rng.uniform(3, 40, 3),
            angle=rng.uniform(0, 3),
        )
        for k in range(n)
    )


def moved(shape, turn=0.0, by=(0.0, 0.0, 0.0), mirror=False):
    c, s = np.cos(turn), np.sin(turn)
    vertices = shape.vertices @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) + by
    triangles = shape.triangles
    if mirror:
        vertices, triangles = vertices * [1.0, -1.0, 1.0], triangles[:, ::-1]
    return replace(shape, vertices=vertices, triangles=triangles)


@pytest.mark.parametrize("seed", range(3))
def test_turn_and_shift_change_no_gap(seed):
    parts = scattered(seed)
    plain = least_gap(curved_line(), car(wheelbase=22.0), parts, EXACT)
    turned = least_gap(
        curved_line(start=(40.0, -30.0), heading=0.8),
        car(wheelbase=22.0),
        tuple(moved(p, 0.8, (40.0, -30.0, 0.0)) for p in parts),
        EXACT,
    )
    assert [w.gap for w in turned] == pytest.approx([w.gap for w in plain], abs=0.005)


@pytest.mark.parametrize("seed", range(3))
def test_a_mirror_swaps_left_and_right(seed):
    parts = scattered(seed)
    line = curved_line()
    mirrored = curved_line(curvature=-line.chain.curvature, cant=-line.cant.value)
    plain = least_gap(line, car(), parts, EXACT)
    other = least_gap(mirrored, car(), tuple(moved(p, mirror=True) for p in parts), EXACT)
    assert [w.gap for w in other] == pytest.approx([w.gap for w in plain], abs=0.005)
    swap = {"left": "right", "right": "left"}
    for a, b in zip(plain, other, strict=True):
        if 0 < a.gap < 25:
            assert b.side == swap.get(a.side, a.side)


def test_a_finer_tolerance_agrees_with_a_coarser_one():
    parts = scattered(7, 12)
    fine = least_gap(curved_line(), car(), parts, SearchSettings(tolerance=0.0005))
    coarse = least_gap(curved_line(), car(), parts, SearchSettings(tolerance=0.05))
    for a, b in zip(fine, coarse, strict=True):
        assert a.gap - 0.0005 <= b.gap <= a.gap + 0.05


def test_copies_that_are_free_are_those_with_a_gap():
    part = box("wall", [520.0, -31.0, 35.0], (70.0, 6.0, 50.0), angle=0.2)
    by = np.array([[0.0, step, 0.0] for step in np.arange(-90.0, 90.0, 4.0)])
    copies = tuple(replace(part, part=f"{k}", vertices=part.vertices + move) for k, move in enumerate(by))
    gaps = np.array([w.gap for w in least_gap(curved_line(), car(), copies, EXACT)])
    told = are_free(prepare(curved_line(), car(), EXACT), part, by)
    assert 0 < np.sum(told) < len(by)
    assert np.array_equal(told, gaps > 0.0)


def test_copies_have_the_tree_of_their_part():
    rng = np.random.default_rng(3)
    boxes = [box("p", rng.uniform(-300.0, 300.0, 3), (3.0, 4.0, 25.0)) for _ in range(120)]
    one = collect((together("many", boxes),))
    by = np.array([[0.0, 0.0, 0.0], [1.5, -2.0, 0.25]])
    both = copies(one, by)
    for number, move in enumerate(by):
        told = zip(_walk(both, int(both.roots[number])), _walk(one, int(one.roots[0])), strict=True)
        for (k, corners), (triangle, before) in told:
            assert k == triangle
            assert same(corners, before + move)


def _walk(targets, node):
    """Triangles under a node, in the order of the tree."""
    first, end = (int(k) for k in targets.below[node])
    if node < len(targets.first) - 1:
        return [(int(targets.triangle[k]), targets.corners[k]) for k in range(first, end)]
    return [one for child in range(first, end) for one in _walk(targets, child)]


def test_settings_that_cannot_be_meant():
    with pytest.raises(InputError, match=r"0\.0"):
        SearchSettings(tolerance=0.0)


def test_what_is_found_of_a_part_depends_on_no_other():
    """To the last bit: only then may what was searched be kept while other parts change."""
    line = curved_line()
    places = np.linspace(300.0, 700.0, 14)
    rail = together("rail", [box("p", [s, 32.0 + s % 7.0, 30.0], (3.0, 4.0, 25.0)) for s in places])
    wall = box("wall", [520.0, -31.0, 35.0], (70.0, 6.0, 50.0), angle=0.2)
    far = together("far", [box("f", [900.0 + s, 4.0 * s, 9.0], (5.0, 5.0, 5.0)) for s in range(200)])
    settings = replace(EXACT, also_within=1.5)
    alone = least_gap(line, car(), (rail,), settings)
    beside = [w for w in least_gap(line, car(), (wall, rail, far), settings) if w.part == "rail"]
    assert len(alone) == len(beside)
    assert all(same(a, b) for a, b in zip(alone, beside, strict=True))
    own, all_of = collect((rail,)), collect((wall, rail, far))
    assert same(own.triangle, all_of.triangle[all_of.part == 1])
    assert _depth(own, 0) == _depth(all_of, 1) == 2  # fourteen clusters, eight under a node
    assert _depth(all_of, 0) == 0  # one cluster, however deep the trees of the others are


def _depth(targets, part):
    node, depth = int(targets.roots[part]), 0
    while node >= len(targets.first) - 1:
        node, depth = int(targets.below[node, 0]), depth + 1
    return depth
