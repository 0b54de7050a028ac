"""The truth behind the H0 job, all in millimetres: an easement, cant and a grade over a line not yet laid.

All of it is invented. The upper line is laid and surveyed: tangent, easement, arc, 1.0 mm of cant and
1.6 %. The lower line exists as a design only, so that its truth is its elements, written here by fine
steps. A straddle bent with its cap level with the girders stands across it.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from truth.demo import Track, _wave
from truth.oo import TAPE_SCALE, Survey, add_distances, add_heights, crossing, main, offset, quoted

HERE = Path(__file__).resolve()
FILE = HERE.parents[1] / "jobs" / "h0" / "job.toml"
SEED = 20261208
GAUGE, HEAD = 16.6, 0.88
SCALE = 87.0

TOOLS = {  # doubt, step in which it is read; mm or radians
    "tape": (0.5, 0.5),
    "square": (0.4, 0.5),
    "level": (0.25, 0.1),
    "straightedge": (0.15, 0.1),
    "feeler": (0.04, 0.05),
    "digital level": (np.radians(0.1), np.radians(0.1)),
}

PEGS = {
    "P1": (0.0, 0.0, 0.0), "P2": (1300.0, 0.0, 0.4), "P3": (1304.0, 780.0, -0.3), "P4": (2.0, 776.0, 0.2),
    "P5": (650.0, -15.0, 0.1), "P6": (640.0, 790.0, 0.3),
}  # fmt: skip
UPPER_AT = np.array([10, 80, 145, 205, 260, 315, 370, 425, 480, 535, 590, 650, 715, 785, 860.0])
GROUND = {"g1": 0.6, "g2": 0.9, "g3": 0.4, "g4": 0.7}

# The design of the lower line: start, heading in degrees, lengths of tangent, easement, arc, radius
START, HEADING = (88.0, 347.0), -14.0
TANGENT, EASEMENT, ARC, RADIUS = 300.0, 120.0, 560.0, 800.0
HEIGHTS = ((0.0, 12.0), (400.0, 14.0), (980.0, 8.2))  # of the low rail, where grades meet
VERTICAL = 300.0
CANTS = ((300.0, 0.0), (420.0, 0.8))  # right over left


def low_rail(s):
    """Design height of the low rail: straight grades joined by a parabola."""
    (s0, z0), (s1, z1), (s2, z2) = HEIGHTS
    into, out = (z1 - z0) / (s1 - s0), (z2 - z1) / (s2 - s1)
    begin = s1 - 0.5 * VERTICAL
    on = np.clip(s - begin, 0.0, VERTICAL)
    beyond = np.maximum(s - begin - VERTICAL, 0.0)
    return (
        z0 + into * np.minimum(s, begin) + into * on + (out - into) * on**2 / (2.0 * VERTICAL) + out * beyond
    )


def lower_cant(s):
    """Design cant, right over left."""
    return np.interp(s, [c[0] for c in CANTS], [c[1] for c in CANTS])


def lower_track() -> Track:
    """The line as designed."""

    def curvature(s):
        return np.interp(s, [0.0, TANGENT, TANGENT + EASEMENT], [0.0, 0.0, 1.0 / RADIUS])

    def height(s):
        return low_rail(s) + 0.5 * np.abs(lower_cant(s))

    return Track(START, np.radians(HEADING), TANGENT + EASEMENT + ARC, curvature, height, lower_cant)


def upper_track() -> Track:
    """Tangent, easement and an arc of 600 mm to the left; cant grows along the easement to 1.0 mm."""

    def curvature(s):
        return np.interp(s, [0.0, 150.0, 300.0], [0.0, 0.0, 1 / 600.0]) + _wave(s, 0.15, 340.0, 0.9)

    def height(s):
        return 84.0 + 0.016 * s + 0.05 * np.sin(s / 60.0)

    def cant(s):
        return np.interp(s, [150.0, 300.0], [0.0, 1.0]) + 0.03 * np.sin(s / 80.0)

    return Track((120.0, 150.0), np.radians(8.0), 870.0, curvature, height, cant)


def true_marks(upper: Track) -> dict:
    """Every mark; those of the upper line on the inner face of its left rail."""
    marks = {name: np.array(at) for name, at in PEGS.items()}
    for k, s in enumerate(UPPER_AT, start=1):
        marks[f"b{k}"] = upper.rail(s, 1, 0.5 * GAUGE)
    for name, z in GROUND.items():
        marks[name] = np.array([0.0, 0.0, z])
    return marks


def make_survey(upper: Track) -> Survey:
    """List every reading with its true value."""
    t = Survey(TOOLS, ("wall", "aisle"))
    m = true_marks(upper)
    add_distances(t, m, PEGS, {"b": len(UPPER_AT)})
    add_heights(t, m, PEGS, {"b": len(UPPER_AT)})
    for k, p in enumerate(("b3", "b6", "b8", "b10"), 1):
        left = offset(m[p], m["P1"], m["P2"])
        t.add("offsets", f"o{k:02d}", left, "square", f'of = "{p}", string = ["P1", "P2"], side = "left"')
        run = (m["P2"] - m["P1"])[:2] / np.linalg.norm((m["P2"] - m["P1"])[:2])
        along = float((m[p] - m["P1"])[:2] @ run)
        t.add("along", f"l{k:02d}", along, "square", f'of = "{p}", string = ["P1", "P2"]')
    for k in range(5, 12):
        left = offset(m[f"b{k}"], m[f"b{k - 2}"], m[f"b{k + 2}"])
        towards = "wall" if left > 0 else "aisle"
        row = f'chord = ["b{k - 2}", "b{k + 2}"], at = "b{k}", towards = "{towards}"'
        t.add("versines", f"v{k - 4:02d}", abs(left), "straightedge", row)
    for k, n in enumerate((1, 3, 4, 5, 6, 7, 8, 9, 10, 11, 13), 1):
        gap = float(upper.cant(UPPER_AT[n - 1])) * 50.0 / (GAUGE + HEAD)
        t.add("cross_levels", f"c{k:02d}", gap, "feeler", f'at = "b{n}", reach = "50", high = "HIGH"')
    for k, (a, b) in enumerate((("b5", "b8"), ("b8", "b11")), 1):
        run = np.linalg.norm((m[b] - m[a])[:2])
        slope = np.arctan2(m[b][2] - m[a][2], run)
        t.add("level_angles", f"s{k:02d}", slope, "digital level", f'from = "{a}", to = "{b}"')
    return t


def written(value: float, tool: str) -> str:
    """A reading as it is written: millimetres, tenths of a degree."""
    if tool == "digital level":
        return f"{np.degrees(value):.1f} deg"
    return f"{value + 0.0:.2f}".rstrip("0").rstrip(".")


def file_text() -> str:
    """The job file."""
    t = make_survey(upper_track())
    shown = t.draw(np.random.default_rng(SEED), TAPE_SCALE)
    return HEAD_TEXT + t.text(shown, written) + DESIGN_TEXT + TAIL_TEXT


def other_way_text() -> str:
    """The same job with the lower line designed from its other end; its left is then the other side."""
    length = TANGENT + EASEMENT + ARC
    x, y = lower_track().point(length)
    heading = np.degrees(lower_track().direction(length)) + 180.0
    design = f"""\
[lines.lower]
by        = "caliper"
track     = "sectional"
gauge     = "16.55"
rail_head = "0.88"
start     = ["{x:.7f}", "{y:.7f}"]
heading   = "{heading:.9f} deg"
elements  = [
  {{ kind = "arc", length = "{ARC:g}", radius = "{RADIUS:g}", turn = "aisle" }},
  {{ kind = "easement", length = "{EASEMENT:g}" }},
  {{ kind = "tangent", length = "{TANGENT:g}" }},
]
heights = [{", ".join(f'{{ along = "{length - s:g}", height = "{z:g}" }}' for s, z in reversed(HEIGHTS))}]
vertical_curve = "{VERTICAL:g}"
cants = [
  {{ along = "{length - CANTS[1][0]:g}", cant = "{CANTS[1][1]:g}", high = "wall" }},
  {{ along = "{length - CANTS[0][0]:g}", cant = "0" }},
]
strays_plan    = {{ sd = "0.4" }}
strays_height  = {{ sd = "0.2" }}

"""
    old = 'clear        = { wall = "27", aisle = "26" }'
    return (
        file_text().replace(DESIGN_TEXT, design).replace(old, 'clear        = { wall = "26", aisle = "27" }')
    )


HEAD_TEXT = f"""\
# A job in millimetres: a laid line with cant and a grade over one that is not laid yet. All of it is made up.

format = 1
name   = "Ellerbruck"
scale  = "1:87"
gauge  = "16.5 mm"
unit   = "mm"
sides  = {{ left = "wall", right = "aisle" }}
ends   = {{ start = "quarry", finish = "town" }}

[tools]
tape            = {{ sd = "0.5", scale = "0.05 %" }}
square          = {{ sd = "0.4" }}
level           = {{ sd = "0.25" }}
straightedge    = {{ sd = "0.15" }}
feeler          = {{ sd = "0.04" }}
caliper         = {{ sd = "0.04" }}
"digital level" = {{ sd = "0.1 deg" }}
"to be cut"     = {{ sd = "0.15" }}

[marks]
pegs   = ["P1", "P2", "P3", "P4", "P5", "P6"]
ground = ["g1", "g2", "g3", "g4"]                # g2 and g3 under the bent's columns
upper  = {{ line = "upper", rail = "wall", face = "inner", names = [{quoted("b", len(UPPER_AT))}] }}

[datum]
at      = "P1"
towards = "P2"
height  = "P1"

[survey]
set_aside = []

"""

DESIGN_TEXT = f"""\
[lines.lower]                                    # not laid yet
by        = "caliper"
track     = "sectional"
gauge     = "16.55"
rail_head = "0.88"
start     = ["{START[0]:g}", "{START[1]:g}"]
heading   = "{HEADING:g} deg"
elements  = [
  {{ kind = "tangent", length = "{TANGENT:g}" }},
  {{ kind = "easement", length = "{EASEMENT:g}" }},
  {{ kind = "arc", length = "{ARC:g}", radius = "{RADIUS:g}", turn = "wall" }},
]
heights = [{", ".join(f'{{ along = "{s:g}", height = "{z:g}" }}' for s, z in HEIGHTS)}]
vertical_curve = "{VERTICAL:g}"
cants = [
  {{ along = "{CANTS[0][0]:g}", cant = "0" }},
  {{ along = "{CANTS[1][0]:g}", cant = "{CANTS[1][1]:g}", high = "aisle" }},
]
strays_plan    = {{ sd = "0.4" }}
strays_height  = {{ sd = "0.2" }}

"""

TAIL_TEXT = """\
[lines.upper]
by        = "caliper"
track     = "flexible"
curves    = 1
gauge     = ["16.58", "16.62"]
rail_head = "0.88"
cant      = "measured"

[layers]
by         = "caliper"
rail       = ["2.08", "2.10"]
tie        = "1.9"
bridge_tie = ["2.20", "2.24"]
dap        = "0.2"

[bridge]
upper   = "upper"
lower   = "lower"
by      = "caliper"
packing = { thinnest = "0.25", most = "3" }
end_gap = "0.6"
edge    = "0.5"
tie_overhang = "1"
tie_width    = "2.6"
tie_pitch    = "6"
spacing       = { is = "22", by = "to be cut" }
flange        = ["4.0", "4.05"]
shoe          = ["2.40", "2.42"]
shoe_along    = "4"
bearing_inset = "4"

[[supports]]
name       = "quarry abutment"
kind       = "abutment"
base       = "g1"
by         = "to be cut"
cap        = "4"
cap_along  = "20"
cap_across = "44"

[[supports]]
name         = "bent"
kind         = "straddle bent"
base         = ["g2", "g3"]
by           = "to be cut"
form         = "level with the girders"
cap          = "12"
cap_along    = "9"
footing      = "2"
shaft_along  = "7"
shaft_across = "6"
clear        = { wall = "27", aisle = "26" }

[[supports]]
name       = "town abutment"
kind       = "abutment"
base       = "g4"
by         = "to be cut"
cap        = "4"
cap_along  = "20"
cap_across = "44"

[[spans]]
name   = "east span"
from   = "quarry abutment"
to     = "bent"
by     = "caliper"
length = "150"
depth  = { wall = ["17.95", "18.0"], aisle = "17.9" }
handrail = { side = "wall", offset = "30.5", height = "12" }
stiffeners   = 10
plate        = "0.6"
rivet_pitch  = "0"                               # welded

[[spans]]
name   = "west span"
from   = "bent"
to     = "town abutment"
by     = "caliper"
length = "165"
depth  = "18.05"
handrail = { side = "wall", offset = ["28.1", "28.3"], height = "12" }
rivet_pitch  = "5"
rivet_height = "0.2"

[clearance]                                      # margins by common practice

[[vehicles]]
name    = "long coach"
runs_on = ["upper", "lower"]
by      = "caliper"
length  = "246"
trucks  = "170"
outline = [["4", "28"], ["9", "31.6"], ["30", "31.6"], ["46", "16"]]
play    = { side = "0.3", roll = "0.3 deg" }

[[vehicles]]
name    = "ore wagon"
runs_on = ["upper", "lower"]
by      = "caliper"
length  = "96"
trucks  = "60"
outline = [["5", "26"], ["12", "34"], ["38", "34"]]
play    = { side = "0.3", roll = "0.4 deg" }

[[vehicles]]
name    = "tall wagon"
runs_on = ["lower"]
by      = "caliper"
length  = "160"
trucks  = "110"
outline = [["5", "30"], ["48", "30"], ["55", "20"]]
play    = { side = "0.3", roll = "0.4 deg" }
"""


if __name__ == "__main__":
    main(FILE, file_text())
    s, q, angle = crossing(upper_track(), lower_track())
    apart = upper_track().height(s) - lower_track().height(q)
    print(
        f"crossing at upper {s:.1f}, lower {q:.1f}, angle {np.degrees(angle):.1f} deg, separation {apart:.2f}"
    )
