"""A battered shaft: what it measures when it is cut, its finished shape, a cap that it outgrows."""

import numpy as np
import pytest

from spanwright.findings import Severity
from spanwright.structures.given import TrimEnd
from spanwright.structures.supports import shaft_sizes
from truth.shaft_cases import on_a_pier

TOP = (8.0, 18.0)  # the kit's shaft at its top as it comes, along and across


def values(sizes):
    return [float(v.value) for v in (sizes.top_along, sizes.top_across, sizes.foot_along, sizes.foot_across)]


def sections(case):
    """Sizes along and across of the finished shape at its top and at its foot, and its volume."""
    shape = case.shapes["q/shaft"]
    place = case.pier.footprint
    left = place.across.value
    ahead = np.array([left[1], -left[0]])
    plan = shape.vertices[:, :2] - np.array([float(place.x.value), float(place.y.value)])
    z = shape.vertices[:, 2]
    found = {}
    for name, level in (("top", z.max()), ("foot", z.min())):
        ring = plan[np.isclose(z, level)]
        assert len(ring) == 4
        found[name] = (np.ptp(ring @ ahead), np.ptp(ring @ left))
        assert ring.mean(axis=0) == pytest.approx([0.0, 0.0], abs=1e-9)
    corners = shape.vertices[shape.triangles] - shape.vertices.mean(axis=0)
    volume = np.einsum("ti,ti->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    return found, float(np.ptp(z)), float(volume)


@pytest.mark.parametrize(("batter", "wider"), [(1.0 / 24.0, 0.83), (1.0 / 12.0, 1.67)])
def test_ten_mm_off_the_top_widen_it_by_a_known_figure(batter, wider):
    """Builders' rule: 10 mm trimmed at 1:24 on each side is 0.83 mm of width, at 1:12 it is 1.67 mm."""
    plain = on_a_pier(batter=0.0, stock=70.0)
    stock = plain.cut.length + 10.0
    case = on_a_pier(batter=batter, stock=stock, trim=TrimEnd.TOP)
    assert float(case.cut.trimmed.value) == pytest.approx(10.0, abs=1e-9)
    along, across, foot_along, foot_across = values(shaft_sizes(case.pier.given, case.inputs, case.cut))
    assert round(along - TOP[0], 2) == wider
    assert round(across - TOP[1], 2) == wider
    # the foot as it comes, all the stock's height below its own top
    assert foot_along == pytest.approx(TOP[0] + 2.0 * stock * batter)
    assert foot_across == pytest.approx(TOP[1] + 2.0 * stock * batter)


@pytest.mark.parametrize("stock", [None, 66.0])
def test_trimmed_at_the_foot_the_top_keeps_its_size(stock):
    case = on_a_pier(stock=stock)
    spread = 2.0 * case.cut.length / 24.0
    assert values(shaft_sizes(case.pier.given, case.inputs, case.cut)) == pytest.approx(
        [*TOP, TOP[0] + spread, TOP[1] + spread]
    )


@pytest.mark.parametrize("trim", list(TrimEnd))
def test_the_finished_shape_is_the_tapered_block(trim):
    case = on_a_pier(stock=66.0, trim=trim)
    rings, height, volume = sections(case)
    trimmed = 66.0 - case.cut.length
    lower = trimmed if trim is TrimEnd.TOP else 0.0  # where the new top was in the shaft as it came
    top = np.array(TOP) + 2.0 * lower / 24.0
    foot = np.array(TOP) + 2.0 * (lower + case.cut.length) / 24.0
    assert height == pytest.approx(case.cut.length)
    assert rings["top"] == pytest.approx(tuple(top))
    assert rings["foot"] == pytest.approx(tuple(foot))
    middle = 0.5 * (top + foot)
    prismatoid = case.cut.length / 6.0 * (top.prod() + 4.0 * middle.prod() + foot.prod())
    assert volume == pytest.approx(prismatoid)  # closed, and its triangles look outward


def test_the_footing_follows_the_foot():
    case = on_a_pier(stock=66.0)
    shape = case.shapes["q/footing of shaft"]
    reach = np.ptp(shape.vertices[:, :2], axis=0)
    foot = np.array(TOP) + 2.0 * case.cut.length / 24.0
    assert reach == pytest.approx(foot + 2.0, abs=1e-6)  # the line is straight along x


def test_without_batter_nothing_changes():
    plain, named = on_a_pier(batter=0.0, stock=66.0), on_a_pier(batter=0.0, stock=66.0, trim=TrimEnd.TOP)
    for part, shape in plain.shapes.items():
        assert np.array_equal(shape.vertices, named.shapes[part].vertices)
    rings, _, _ = sections(named)
    assert rings["top"] == rings["foot"] == pytest.approx(TOP)


def test_the_new_top_hangs_on_stock_and_cut():
    """d(width)/d(stock) = 2 b, d(width)/d(cut) = -2 b: the doubt of what comes off is that of the top."""
    case = on_a_pier(stock=66.0, trim=TrimEnd.TOP)
    top = shaft_sizes(case.pier.given, case.inputs, case.cut).top_along
    support = case.pier.given
    slopes = {key: float(top.jac[case.inputs.column(key)]) for key in (*support.stock.ids, *support.cut)}
    assert slopes == pytest.approx({support.stock.ids[0]: 2.0 / 24.0, support.cut[0]: -2.0 / 24.0})
    more = on_a_pier(stock=66.0, trim=TrimEnd.TOP, change=0.3)
    there = shaft_sizes(more.pier.given, more.inputs, more.cut).top_along
    assert float((there - top).value) == pytest.approx(0.3 * 2.0 / 24.0)


def test_a_cap_narrower_than_the_new_top_is_a_finding():
    wide = on_a_pier(stock=70.0, trim=TrimEnd.TOP, cap_along=8.2)
    (finding,) = [f for f in wide.structures.findings if f.code == "ST123" and f.where == "q/shaft"]
    expected = 8.0 + 2.0 * (70.0 - wide.cut.length) / 24.0
    assert finding.severity is Severity.WARNING
    assert (finding.value, finding.limit) == (pytest.approx(expected), pytest.approx(8.2))
    assert "along the line" in finding.text
    kept = on_a_pier(stock=70.0, trim=TrimEnd.FOOT, cap_along=8.2)
    assert not [f for f in kept.structures.findings if f.code == "ST123"]
