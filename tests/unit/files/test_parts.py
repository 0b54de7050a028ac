"""Lines, bridge and vehicles as the stages get them."""

import math
from fractions import Fraction

import numpy as np
import pytest

from spanwright.alignment.given import ElementKind, TrackKind
from spanwright.files.builders.clearance import default_margin
from spanwright.structures.given import CapForm, SupportKind


def values(loaded, size):
    return [loaded.inputs[key].value for key in size.ids]


def test_head_of_the_job(job):
    loaded = job.load()
    assert (loaded.name, loaded.scale, loaded.gauge) == ("Template crossing", Fraction(160), 9.0)
    words = loaded.words
    assert (words.left, words.right, words.start, words.finish) == ("aisle", "wall", "town", "yard")


def test_scale_and_gauge_are_two_facts(job):
    job.replace('"1:160"', '"4 mm = 1 ft"').replace('"9 mm"', '"16.5 mm"')
    loaded = job.replace('["9.02", "9.05"]', '"16.6"').replace('["9.00", "9.04"]', '"16.55"').load()
    assert (float(loaded.scale), loaded.gauge) == (76.2, 16.5)


def test_a_job_in_inches(job):
    job.text = job.text[: job.text.index("[bridge]")]
    job.replace('unit   = "mm" ', 'unit = "inch" ').replace('is = "407.5"', 'is = "16 1/8"')
    job.replace('["9.02", "9.05"]', '"0.355"').replace('["9.00", "9.04"]', '"0.354"')
    job.text = job.text.replace('rail_head = "0.6"', 'rail_head = "0.6 mm"')
    assert job.load().inputs["d11"].value == pytest.approx(16.125 * 25.4)


def test_full_size_lengths_are_reduced(job):
    assert job.replace('is = "407.5"', 'is = "214 ft proto"').load().inputs["d11"].value == pytest.approx(
        214 * 304.8 / 160
    )


def test_only_a_survey(job):
    job.text = job.text[: job.text.index("[bridge]")]
    loaded = job.load()
    assert loaded.structures is None
    assert loaded.clearance is None


# ---------------------------------------------------------------- lines


def test_laid_lines(job):
    lower, upper = job.load().lines
    assert (lower.name, lower.curves, lower.track) == ("lower", 0, TrackKind.FLEXIBLE)
    assert upper.marks == ("b1", "b2", "b3", "b4", "b5", "b6", "b7")
    assert upper.gauge.ids == ("lines/upper/gauge", "lines/upper/gauge/2")
    assert upper.design is None


def test_a_cant_that_was_not_measured_is_a_doubt(job):
    loaded = job.load()
    lower, upper = loaded.lines
    assert upper.cant_assumed == ""
    cant = loaded.inputs[lower.cant_assumed]
    assert (cant.id, cant.value, cant.kind) == ("lines/lower/cant", 0.0, "unseen")
    assert cant.sd == pytest.approx(9.035 / 15)  # NEM 114 (MOROP, 2007): a fifteenth of the gauge
    assert "NEM 114" in cant.label


def test_marks_may_be_left_out_when_one_group_holds_them(job):
    seven = 'marks     = ["b1", "b2", "b3", "b4", "b5", "b6", "b7"]\n'
    assert job.replace(seven, "").load().lines[1].marks == tuple(f"b{k}" for k in range(1, 8))


def test_marks_of_two_groups_need_their_order(job):
    job.replace(
        "# Rough places", 'wall = { line = "upper", rail = "wall", face = "outer", names = ["c1"] }\n#'
    )
    error = job.replace('marks     = ["b1", "b2", "b3", "b4", "b5", "b6", "b7"]\n', "").error()
    assert error.code == "JO032"
    assert "upper, wall" in str(error)


def test_marks_on_both_rails_measure_the_cant(job):
    job.replace('ground = ["g1"', 'ground = ["g0", "g1"')
    job.replace(
        "# Rough places", 'wall = { line = "lower", rail = "wall", face = "inner", names = ["c1"] }\n#'
    )
    assert job.replace('cant      = "not measured"', 'cant = "measured"').load().lines[0].cant_assumed == ""


DESIGN = """elements = [
  { kind = "tangent", length = "300" }, { kind = "easement", length = "80" },
  { kind = "arc", length = "400", radius = "381", turn = "wall" },
  { kind = "arc", length = "200", radius = "15 in", turn = "aisle" } ]
heights = [ { along = "0", height = "70" }, { along = "800", height = "84" } ]
cants = [ { along = "0", cant = "0" }, { along = "400", cant = "0.6", high = "aisle" } ]
vertical_curve = "100"
strays_plan = { sd = "0.4" }
start = ["10", "20"]
heading = "30 deg"
"""


@pytest.fixture
def designed(job):
    """Turn the lower line into a design."""
    job.replace('marks     = ["a1", "a2", "a3", "a4", "a5", "a6", "a7"]\n', DESIGN)
    return job.replace('cant      = "not measured"\n', "")


def test_designed_line(designed):
    loaded = designed.load()
    design = loaded.lines[0].design
    assert (design.x, design.y, design.heading) == (10.0, 20.0, pytest.approx(math.pi / 6))
    assert [e.kind for e in design.elements][:2] == [ElementKind.TANGENT, ElementKind.EASEMENT]
    assert [e.radius for e in design.elements] == [math.inf, math.inf, -381.0, 381.0]
    assert design.heights == ((0.0, 70.0), (800.0, 84.0))
    assert design.cants == ((0.0, 0.0), (400.0, -0.6))  # right above left: the aisle is left
    assert design.vertical_curve == 100.0
    assert [loaded.inputs[k].sd for k in (design.plan_doubt, design.height_doubt)] == [0.4, 0.5]
    assert "common practice, no source" in loaded.inputs[design.height_doubt].label


def test_a_design_may_start_at_the_datum(designed):
    designed.replace('start = ["10", "20"]', 'start = "P1"').replace('heading = "30 deg"', 'towards = "P2"')
    design = designed.load().lines[0].design
    assert (design.x, design.y, design.heading) == (0.0, 0.0, 0.0)


def test_a_design_may_lead_from_held_mark_to_held_mark(designed):
    designed.replace('start = ["10", "20"]', 'start = "P1"').replace('heading = "30 deg"', 'towards = "P2"')
    designed.replace(
        'at      = "P1"\ntowards = "P2"\nheight  = "P1"',
        "fixed = { P1 = { x = 5, y = 5 }, P2 = { x = 5, y = 9 } }",
    )
    assert designed.load().lines[0].design.heading == pytest.approx(math.pi / 2)


@pytest.mark.parametrize(
    ("old", "new", "code", "words"),
    [
        ('heading = "30 deg"', "", "JO037", "heading or towards"),
        ('heading = "30 deg"', 'heading = "30 deg"\ntowards = "P2"', "JO037", "not both"),
        ('heading = "30 deg"', 'towards = "P3"', "JO037", "'P3'"),
        ('heading = "30 deg"', "heading = 30", "UN002", "read 30"),
        ('start = ["10", "20"]', "", "JO037", "needs its start"),
        ('start = ["10", "20"]', 'start = "P3"', "JO037", "'P3'"),
        ('start = ["10", "20"]', "start = [1, 2, 3]", "JO037", "x and y"),
        (
            '"tangent", length = "300"',
            '"tangent", radius = "3", length = "300"',
            "JO038",
            "a tangent has no radius",
        ),
        ('radius = "381", turn = "wall"', 'radius = "381"', "JO038", "the side to which it turns"),
        ('turn = "wall"', 'turn = "east"', "JO015", "'east'"),
        ('{ along = "0", height = "70" }', '{ along = "0", cant = "7" }', "JO039", "along and height"),
        ('{ along = "800", height', '{ along = "0", height', "JO039", "in order"),
        ('cant = "0.6", high = "aisle"', 'cant = "0.6"', "JO039", "which rail is high"),
        ('cant = "0.6"', 'cant = "-0.6"', "JO012", "'-0.6'"),
        (
            'heading = "30 deg"',
            'heading = "30 deg"\ncant = "measured"',
            "JO035",
            "a designed line does not have",
        ),
        ("elements = [", "elements = []\ncants = [] #", "FI006", ""),
    ],
)
def test_designs_that_cannot_be_meant(designed, old, new, code, words):
    error = designed.replace(old, new).error()
    assert error.code == code, str(error)
    assert words in str(error)


def test_a_design_without_elements(designed):
    start, end = designed.text.index("elements = ["), designed.text.index("heights = [ { along")
    designed.text = designed.text[:start] + "elements = []\n" + designed.text[end:]
    assert "needs elements and heights" in str(designed.error())


# ---------------------------------------------------------------- bridge


def test_bridge(job):
    loaded = job.load()
    bridge = loaded.structures
    assert (bridge.upper, bridge.lower, bridge.k) == ("upper", "lower", 2.0)
    assert (bridge.packing.thinnest, bridge.packing.most) == (0.25, 3.0)
    assert bridge.tie.ids == ("layers/bridge_tie", "layers/bridge_tie/2")
    assert bridge.dap.ids == ("layers/dap",)
    assert (bridge.end_gap, bridge.edge, bridge.tie_overhang, bridge.tie_width, bridge.tie_pitch) == (
        *(0.5, 0.4, 1.0, 1.5, 3.0),
    )


def test_spans_share_what_the_bridge_says_once(job):
    loaded = job.replace('length = "95.0"', 'length = "95.0"\nflange = "2.6"').load()
    a, b = loaded.structures.spans
    assert a.shoe is b.shoe
    assert a.shoe.ids == ("bridge/shoe", "bridge/shoe/2")
    assert (values(loaded, a.flange), values(loaded, b.flange)) == ([2.4], [2.6])
    assert values(loaded, a.depth_left) == [12.88, 12.90]
    assert a.depth_right.ids == ("spans/span A/depth/right",)
    assert b.depth_left is b.depth_right
    assert (a.start, a.end, b.end) == ("town abutment", "bent", "yard abutment")


def test_supports(job):
    job.replace('base       = "g2"', 'base = "g2"\nshift = "-1.5"\ncut = { sd = "0.4" }')
    loaded = job.load()
    town, bent, yard = loaded.structures.supports
    assert [s.kind for s in (town, bent, yard)] == [
        *(SupportKind.ABUTMENT, SupportKind.STRADDLE_BENT, SupportKind.ABUTMENT),
    ]
    assert (bent.bases, bent.form, town.form) == (("g3", "g4"), CapForm.LEVEL, CapForm.UNDER)
    assert values(loaded, bent.clear_left) == [22.0]
    assert loaded.inputs["supports/bent/clear/left"].kind == "setting out"
    shift = loaded.inputs[yard.shift]
    assert (shift.value, shift.sd, shift.kind) == (-1.5, 0.0, "may move")
    assert [loaded.inputs[s.cut[0]].sd for s in (town, yard)] == [0.2, 0.4]
    assert loaded.inputs[town.set_out].sd == 0.3
    assert "common practice, no source" in loaded.inputs[town.set_out].label


def test_a_bent_that_stands_is_measured(job):
    clear = '{ aisle = { is = ["21.9", "22.1"], by = "caliper" }, wall = { is = "22", sd = "0.7" } }'
    job.replace('{ aisle = "22", wall = "22" }', clear + '\nturn = "-3 deg"\nset_out = { sd = "0.6" }')
    loaded = job.load()
    bent = loaded.structures.supports[1]
    assert values(loaded, bent.clear_left) == [21.9, 22.1]
    assert loaded.inputs["supports/bent/clear/left"].kind == "size"
    assert loaded.inputs["supports/bent/clear/right"].sd == 0.7
    assert bent.turn == pytest.approx(-math.radians(3))
    assert loaded.inputs[bent.set_out].sd == 0.6


def test_one_clear_for_both_columns_is_set_out_twice(job):
    loaded = job.replace('{ aisle = "22", wall = "22" }', '"22"').load()
    bent = loaded.structures.supports[1]
    assert bent.clear_left.ids != bent.clear_right.ids
    assert values(loaded, bent.clear_right) == [22.0]


# ---------------------------------------------------------------- vehicles


def test_vehicle(job):
    loaded = job.load()
    runs = loaded.clearance.runs
    assert [(run.line, run.vehicle.name) for run in runs] == [
        ("lower", "tall boxcar"),
        ("upper", "tall boxcar"),
    ]
    vehicle = runs[0].vehicle
    assert runs[1].vehicle is vehicle
    body = vehicle.bodies[0]
    assert (body.rear, body.front, body.truck_spacing) == (-57.5, 57.5, 84.0)
    section = body.prisms[0].section
    assert section.shape == (8, 2)
    assert np.allclose(np.sort(section[:, 0]), [-9.75, -9.75, -7, -6, 6, 7, 9.75, 9.75])
    assert (section[:, 1].min(), section[:, 1].max()) == (3.0, 33.0)
    assert (vehicle.play.lateral, vehicle.play.roll) == (0.3, pytest.approx(math.radians(0.5)))
    width = loaded.inputs[vehicle.size_inputs.width]
    assert (width.id, width.value, width.sd) == ("vehicles/tall boxcar/width", 0.0, 0.05)


def test_vehicle_doubts(job):
    job.replace(
        'by      = "caliper"\nlength  = "115"', 'by = "nominal"\nsd = { height = "0.2" }\nlength = "115"'
    )
    loaded = job.load()
    sd = {
        key: loaded.inputs[f"vehicles/tall boxcar/{key}"].sd
        for key in ("width", "height", "length", "trucks")
    }
    assert sd == pytest.approx(
        {"width": 0.08 * 19.5, "height": 0.2, "length": 0.08 * 115, "trucks": 0.08 * 84}
    )


def test_a_pointed_roof_is_one_corner(job):
    vehicle = job.replace('["33", "12"]', '["33", "0"]').load().clearance.runs[0].vehicle
    assert vehicle.bodies[0].prisms[0].section.shape == (7, 2)


SECTIONS = """sections = [
  { from = "-60", to = "-35", outline = [["3", "12"], ["25", "18"]] },
  { from = "-35", to = "35", polygon = [
      ["-9", "1.5"], ["9", "1.5"], ["9", "14"], ["7", "5"], ["-7", "5"], ["-9", "14"] ] },
]
"""


def test_sections_along_a_body(job):
    start, end = job.text.index('length  = "115"'), job.text.index("play    =")
    job.text = f'{job.text[:start]}trucks = "70"\ntruck_wheelbase = "9"\n{SECTIONS}{job.text[end:]}'
    body = job.load().clearance.runs[0].vehicle.bodies[0]
    assert [(p.rear, p.front, len(p.section)) for p in body.prisms] == [(-60.0, -35.0, 4), (-35.0, 35.0, 6)]
    assert body.truck_wheelbase == 9.0


@pytest.mark.parametrize(
    ("old", "new", "code", "words"),
    [
        ('from = "-60", to = "-35"', 'from = "-35", to = "-60"', "JO061", "'-60'"),
        ('["-9", "1.5"], ["9", "1.5"]', '["9", "1.5"], ["-9", "1.5"]', "JO062", "cross"),
        ('["7", "5"]', '["7", "-5"]', "JO012", "'-5'"),
    ],
)
def test_sections_that_cannot_be_meant(job, old, new, code, words):
    start, end = job.text.index('length  = "115"'), job.text.index("play    =")
    job.text = f'{job.text[:start]}trucks = "70"\n{SECTIONS}{job.text[end:]}'
    error = job.replace(old, new).error()
    assert error.code == code, str(error)
    assert words in str(error)


def test_articulated_vehicle(job):
    start, end = job.text.index('length  = "115"'), job.text.index("play    =")
    body = '{ length = "60", trucks = "60", outline = [["3", "12"], ["25", "18"]] }'
    named = body.replace("{ ", '{ name = "rear", ', 1)
    job.text = f"{job.text[:start]}bodies = [ {body}, {named} ]\n{job.text[end:]}"
    vehicle = job.load().clearance.runs[0].vehicle
    assert [b.name for b in vehicle.bodies] == ["body 1", "rear"]


def test_two_vehicles_need_two_names(job):
    vehicle = job.text[job.text.index("[[vehicles]]") : job.text.index("# A body that is not alike")]
    job.text += vehicle
    error = job.error()
    assert error.code == "JO016"
    assert "'tall boxcar'" in str(error)


def test_margins(job):
    clearance = job.load().clearance
    assert (clearance.margin_side, clearance.margin_above, clearance.k) == (1.5, 2.0, 2.0)
    job.replace('margin = { side = "1.5", above = "2" }', "")
    clearance = job.load().clearance
    assert (clearance.margin_side, clearance.margin_above) == (1.5, 2.0)
    assert default_margin(87.1, 240.0) == 2.8


# ---------------------------------------------------------------- out of the ordinary, but it may be meant

OUTLINE = 'outline = [["3", "14"], ["6", "19.5"], ["29", "19.5"], ["33", "12"]]'
BOX = 'outline = [["3", "14"], ["33", "12"]]'


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('["9.02", "9.05"]', '["9.02", "10.3"]'),
        ('rail_head = "0.6"', 'rail_head = ["0.5", "0.9"]'),
        ('["12.88", "12.90"]', '["12.88", "9.6"]'),
        ('dap        = "0.3"', 'dap        = "1.5"'),
        ('trucks  = "84"', 'trucks  = "115"'),
        ("curves    = 1", "curves    = 6"),
        ('is = "1.0", reach = "100"', 'is = "30", reach = "100"'),
        ('scale = "0.05 %"', 'scale = "20 %"'),
        ('name   = "Template crossing"', 'name   = "Main Street / Café 橋"'),
        ('name    = "tall boxcar"', f'name    = "{"t" * 80}"'),
        (
            'at      = "P1"\ntowards = "P2"\nheight  = "P1"',
            'fixed = { P1 = { x = "0", y = "0", z = "0" }, P2 = { x = "0", y = "0", z = "80" } }',
        ),
        (
            f'length  = "115"\ntrucks  = "84"\n{OUTLINE}',
            'trucks = "84"\n'
            f'sections = [{{ from = "-50", to = "9", {BOX} }}, {{ from = "-9", to = "50", {BOX} }}]',
        ),
    ],
)
def test_generous_limits(job, old, new):
    job.replace(old, new).load()
