"""Sheets on pages: whole, reduced, and in tiles that give the sheet back when they are joined."""

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
import shapely
from checks import bars, check_page
from samples import OUTLINE, STAMP, elevation, plate, strip
from shapely.geometry import LineString, Point

from spanwright.drawings.display import Circle, Path, Role, Sheet, Text, box, path
from spanwright.drawings.printer import Printer
from spanwright.drawings.tiles import OVERLAP, pages
from spanwright.errors import InputError

A4 = Printer()
OFF = Printer(paper="A4", across=149.2, down=200.7)
LETTER = Printer(paper="Letter", across=151.0, down=199.0)
PRINTERS = pytest.mark.parametrize("printer", [A4, OFF, LETTER], ids=["A4", "A4 off", "Letter off"])


def lay(sheet, printer=A4):
    return pages(sheet, printer=printer, stamp=STAMP)


def words(page):
    return [i.text for i in page.items if isinstance(i, Text)]


def fine_lines(page):
    fine = (i for i in page.furniture if isinstance(i, Path) and i.role is Role.FINE)
    return [i.points for i in fine if len(i.points) == 2]


# ---------------------------------------------------------------- one page


@PRINTERS
def test_a_small_sheet_goes_on_one_page(printer):
    (page,) = lay(plate(), printer)
    assert check_page(page) == []
    assert page.true
    (cut,) = [i for i in page.drawing if isinstance(i, Path) and i.role is Role.CUT and len(i.points) == 5]
    fx, fy = printer.factors
    got = np.array(cut.points)
    want = np.array(OUTLINE) * (fx, fy)
    assert got - got[0] == pytest.approx(want - want[0], abs=1e-9)


@PRINTERS
def test_the_bars_carry_the_factors_and_the_diagonal_is_true(printer):
    (page,) = lay(plate(), printer)
    level, upright = bars(fine_lines(page))
    assert level == pytest.approx([100.0 * printer.factors[0]])
    assert upright == pytest.approx([100.0 * printer.factors[1]])
    (said,) = [w for w in words(page) if w.startswith("corner crosses")]
    stated = float(said.split(":")[1].split("mm")[0])
    corners = crosses(page)
    printed = np.array(corners) / printer.factors
    span = printed.max(axis=0) - printed.min(axis=0)
    assert len(corners) == 4
    assert math.hypot(*span) == pytest.approx(stated, abs=0.005)


def crosses(page):
    """Middles of the crosses whose arms are 2 mm long."""
    lines = [LineString(p) for p in fine_lines(page) if abs(math.dist(*p) - 4.0) < 1e-6]
    level = [x.centroid for x in lines if x.bounds[1] == x.bounds[3]]
    upright = [x.centroid for x in lines if x.bounds[0] == x.bounds[2]]
    return [(a.x, a.y) for a in level for b in upright if a.distance(b) < 1e-9]


def test_a_wide_sheet_is_turned_and_the_factors_with_it():
    sheet = Sheet(id="gauge/long", title="Long", items=(box((0, 0), (230, 60), Role.CUT),))
    (page,) = lay(sheet, OFF)
    assert page.size == (297.0, 210.0)
    assert page.factors == OFF.factors[::-1]
    assert check_page(page) == []


def test_the_strip_says_what_must_be_known():
    (page,) = lay(plate())
    said = " ".join(words(page))
    for part in (
        "Heron Cut",
        "Card of the plate",
        "card/plate",
        "printed side up",
        "mirror image: Card of the plate, mirrored",
        "full size",
        "page 1 of 1",
        "revision 7f3a",
        "made from 61 readings, 4 of them as built",
        "Model only: not for real structures.",
        "Cut with a sharp blade",
        "fold",
        "centre line",
        "cut here: the middle of the line is the edge",
    ):
        assert part in said
    assert "hidden edge" not in said  # a role that does not occur


@pytest.mark.parametrize("name", ["橋梁の模型 № 7", "Überführung am Bach", "x" * 90, "a\tb\nc", "جسر"])
def test_any_name_can_be_set(name):
    sheet = replace(plate(), title=name, twin=name, side_up=name)
    made = pages(sheet, printer=A4, stamp=replace(STAMP, job=name, made_from=name))
    assert [f for page in made for f in check_page(page)] == []


def test_long_notes_get_a_page_of_their_own():
    sheet = replace(plate(), notes=tuple(f"{k}. Hold the rule down with the hand." for k in range(45)))
    first, second = lay(sheet)
    assert not first.true
    assert second.true
    assert check_page(first) == []
    assert check_page(second) == []
    assert sum("Hold the rule" in w for w in words(first)) == 45


def test_a_true_sheet_that_is_just_too_wide_for_a_page_is_not_squeezed():
    (page,) = lay(Sheet(id="a", title="a", items=(box((0, 0), (165, 200)),)))
    assert page.factors == (1.0, 1.0)
    assert len(lay(Sheet(id="a", title="a", items=(box((0, 0), (290, 200)),)))) > 1


# ---------------------------------------------------------------- what is refused


@pytest.mark.parametrize("items", [(), (Text(at=(0, 0), text=""),)])
@pytest.mark.parametrize("true", [True, False])
def test_an_empty_sheet_is_refused(items, true):
    with pytest.raises(InputError, match="bare") as caught:
        lay(Sheet(id="bare", title="bare", items=items, true=true))
    assert caught.value.code == "DR003"


@pytest.mark.parametrize("wrong", [math.nan, math.inf])
def test_a_place_that_is_none_is_refused(wrong):
    with pytest.raises(InputError, match="nowhere") as caught:
        lay(Sheet(id="nowhere", title="t", items=(path([(0, 0), (wrong, 1)]),)))
    assert caught.value.code == "DR004"


def test_too_many_pages_are_refused():
    with pytest.raises(InputError, match="80 at most") as caught:
        lay(Sheet(id="huge", title="t", items=(box((0, 0), (5000, 5000)),)))
    assert caught.value.code == "DR006"


def test_notes_that_leave_no_room_are_refused():
    with pytest.raises(InputError, match="much") as caught:
        lay(replace(elevation(), id="much", notes=("word",) * 90))
    assert caught.value.code == "DR005"


# ---------------------------------------------------------------- reduced


@pytest.mark.parametrize(("own", "drawn"), [(1.0, 0.2), (0.5, 0.1), (0.2, 0.05), (2.0, 0.5)])
def test_a_drawing_takes_the_next_scale_of_iso_5455(own, drawn):
    # 700 mm at its own scale go into 277 - 14 = 263 mm at 0.376 of it at most.
    (page,) = lay(elevation(own))
    assert page.scale == pytest.approx(drawn)
    assert check_page(page) == []
    outline = next(i for i in page.drawing if isinstance(i, Path) and i.closed)
    xs = [x for x, _ in outline.points]
    assert max(xs) - min(xs) == pytest.approx(700.0 * drawn / own)
    assert f"scale 1:{1 / drawn:g}" in words(page)
    assert sum(w.startswith("bearing") for w in words(page)) == 19


def test_a_drawing_that_fits_keeps_its_scale_and_has_no_bars():
    sheet = Sheet(
        id="g", title="g", items=(box((0, 0), (100, 40)), path([(0, 0), (1, 1)])), true=False, scale=0.1
    )
    (page,) = lay(sheet)
    assert page.scale == 0.1
    assert "scale 1:10" in words(page)
    assert bars(fine_lines(page)) == ([], [])


def test_what_has_no_scale_says_so():
    (page,) = lay(Sheet(id="g", title="g", items=(box((0, 0), (100, 40)),), true=False, scale=0.0))
    assert "not to scale" in words(page)


# ---------------------------------------------------------------- tiles


def runs_of(items):
    """All strokes as lines, circles as an independent library draws them."""
    for item in items:
        if isinstance(item, Path) and item.stroked:
            yield LineString([*item.points, item.points[0]] if item.closed else item.points), item.role
        elif isinstance(item, Circle):
            yield Point(item.centre).buffer(item.radius, quad_segs=200).exterior, item.role


def marks(page):
    """Names of the crosses of the joins and where they are: the circle nearest to each name."""
    rings = [i.centre for i in page.furniture if isinstance(i, Circle)]
    names = [i for i in page.furniture if isinstance(i, Text) and i.bold and len(i.text) in (2, 3)]
    names = [i for i in names if i.text[0].isalpha() and i.text[-1] in "12"]
    return {(n.text): min(rings, key=lambda r: math.dist(r, n.at)) for n in names}


def joined(tiles, factors):
    """Where each tile's page lies when it is laid on its neighbours, cross on cross; in printed mm."""
    at = {0: np.zeros(2)}
    seen = [{k: np.array(p) / factors for k, p in marks(t).items()} for t in tiles]
    while len(at) < len(tiles):
        before = len(at)
        for k, own in enumerate(seen):
            for j in [j for j in at if k not in at]:
                shared = sorted(set(own) & set(seen[j]))
                if shared:
                    steps = [at[j] + seen[j][name] - own[name] for name in shared]
                    assert np.ptp(steps, axis=0) == pytest.approx([0.0, 0.0], abs=1e-6)
                    at[k] = steps[0]
                    break
        assert len(at) > before, "tiles that join nothing"
    return at


@PRINTERS
@pytest.mark.parametrize("size", [(520.0, 330.0), (700.0, 60.0), (90.0, 640.0)])
def test_tiles_joined_by_their_crosses_give_the_sheet_back(printer, size):
    sheet = strip(*size)
    plan, *tiles = lay(sheet, printer)
    assert not plan.true
    assert len(tiles) > 1
    factors = np.array(tiles[0].factors)
    at = joined(tiles, factors)
    shift = np.array(tiles[0].origin) / factors  # of the whole, against the sheet
    for role in {r for _, r in runs_of(sheet.items)}:
        parts = []
        for k, tile in enumerate(tiles):
            for run, of in runs_of(tile.drawing):
                if of is role:
                    place = at[k] - shift
                    parts.append(shapely.transform(run, lambda p, s=place: p / factors + s))
        whole = shapely.union_all([run for run, of in runs_of(sheet.items) if of is role])
        got = shapely.union_all(parts)
        assert got.bounds == pytest.approx(whole.bounds, abs=0.01)
        assert shapely.hausdorff_distance(got, whole) < 0.01
        assert whole.difference(got.buffer(0.01)).length < 1e-6  # nothing is missing
        assert got.difference(whole.buffer(0.01)).length < 1e-6  # nothing was added


@PRINTERS
def test_each_text_is_on_one_tile_and_clear_of_the_joins(printer):
    sheet = strip()
    _, *tiles = lay(sheet, printer)
    got = Counter(i.text for t in tiles for i in t.drawing if isinstance(i, Text))
    assert got == Counter(i.text for i in sheet.items if isinstance(i, Text))


@PRINTERS
@pytest.mark.parametrize("size", [(520.0, 330.0), (700.0, 60.0), (90.0, 640.0)])
def test_every_page_of_a_tiled_sheet_is_sound(printer, size):
    made = lay(strip(*size), printer)
    assert [f for page in made for f in check_page(page)] == []
    for page in made[1:]:
        level, upright = bars(fine_lines(page))
        assert level == pytest.approx([100.0 * page.factors[0]])
        assert upright == pytest.approx([100.0 * page.factors[1]])
    assert [w for w in words(made[0]) if "Saw dust" in w]


def test_neighbours_overlap_by_ten_millimetres():
    sheet = Sheet(id="a", title="a", items=(path([(0, 0), (400, 0)], Role.CUT),))
    _, first, second = lay(sheet)
    ends = [max(x for i in first.drawing for x, _ in (first.to_sheet(p) for p in i.points))]
    starts = [min(x for i in second.drawing for x, _ in (second.to_sheet(p) for p in i.points))]
    assert ends[0] - starts[0] == pytest.approx(OVERLAP)
    assert OVERLAP == 10.0


def test_both_tiles_of_a_join_name_each_other():
    _, first, second = lay(Sheet(id="a", title="a", items=(path([(0, 0), (400, 100)], Role.CUT),)))
    assert set(marks(first)) == set(marks(second)) == {"A1", "A2"}
    assert any("join A with tile 2" in w for w in words(first))
    assert any("join A with tile 1" in w for w in words(second))


def test_tiles_with_nothing_on_them_are_not_printed():
    corner = (path([(0, 0), (0, 600), (600, 600)], Role.CUT),)
    _, *tiles = lay(Sheet(id="a", title="a", items=corner))
    full = lay(Sheet(id="a", title="a", items=(box((0, 0), (600, 600), fill=0.5),)))[1:]
    assert len(tiles) < len(full)
    joined(tiles, np.ones(2))


def test_islands_keep_the_empty_tiles_that_join_them():
    islands = (box((0, 0), (20, 20), Role.CUT), box((700, 500), (720, 520), Role.CUT))
    _, *tiles = lay(Sheet(id="a", title="a", items=islands))
    joined(tiles, np.ones(2))


def test_areas_are_cut_as_areas():
    # A bow tie: its area is that of two triangles, whatever the order of its corners.
    bow = path([(0, 0), (400, 300), (400, 0), (0, 300)], Role.OUTLINE, closed=True, fill=0.5)
    _, *tiles = lay(Sheet(id="a", title="a", items=(bow,)))
    areas = [
        shapely.Polygon([t.to_sheet(p) for p in i.points])
        for t in tiles
        for i in t.drawing
        if i.fill is not None
    ]
    assert shapely.union_all(areas).area == pytest.approx(2 * 0.5 * 300 * 200, rel=1e-9)
