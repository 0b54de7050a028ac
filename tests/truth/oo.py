"""The truth behind the OO job, in inches on a gauge that disagrees with its scale, and its readings.

All of it is invented. A straight line climbs over a curved one at about sixty degrees on two girder
spans and a pier. As in ``demo``, the geometry is written out by finite steps and shares no code with
the package. :class:`Survey` gathers true values and shows them as tools would.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import numpy as np

from truth.demo import Track, _wave

HERE = Path(__file__).resolve()
FILE = HERE.parents[1] / "jobs" / "oo" / "job.toml"
SEED = 20261207
INCH = 25.4
GAUGE, HEAD = 16.55, 0.92
SCALE = 76.2

TOOLS = {  # doubt, step in which it is read; mm or radians
    "tape": (0.02 * INCH, INCH / 32),
    "rule": (0.016 * INCH, INCH / 64),
    "level": (INCH / 64, INCH / 64),
    "straightedge": (0.008 * INCH, INCH / 128),
    "feeler": (0.002 * INCH, 0.001 * INCH),
    "digital level": (np.radians(0.1), np.radians(0.1)),
}
TAPE_SCALE = 0.0005

PEGS = {
    "P1": (0.0, 0.0, 0.0), "P2": (1500.0, 0.0, 0.5), "P3": (1506.0, 900.0, -0.4), "P4": (3.0, 894.0, 0.3),
    "P5": (748.0, -14.0, 0.2), "P6": (764.0, 908.0, 0.1),
}  # fmt: skip
LOWER_AT = np.array([15, 120, 225, 330, 430, 520, 600, 680, 760, 840, 930, 1030, 1140, 1250, 1360.0])
UPPER_AT = np.array([12, 85, 155, 220, 285, 345, 405, 465, 525, 590, 655, 725, 800.0])
GROUND = {"g1": 0.8, "g2": 1.3, "g3": 0.5}


@dataclass
class Survey:
    """True values of all readings by id, with tool and row of the job file; then readings shown.

    ``sides`` are the job's words for left and right.
    """

    tools: dict
    sides: tuple[str, str]
    values: dict = field(default_factory=dict)
    tool: dict = field(default_factory=dict)
    rows: dict = field(default_factory=dict)

    def add(self, kind, key, value, tool, row):
        self.values[key] = float(value)
        self.tool[key] = tool
        self.rows.setdefault(kind, []).append((key, row))

    def draw(self, rng: np.random.Generator, tape_scale: float) -> dict[str, float]:
        """Readings with the tools' errors, rounded to the tools' steps."""
        scale = rng.normal(0.0, tape_scale)
        shown = {}
        for key, value in self.values.items():
            sd, step = self.tools[self.tool[key]]
            noise = rng.normal(0.0, np.sqrt(sd**2 - step**2 / 12.0))
            true = value * (1.0 + scale) if self.tool[key] == "tape" else value
            shown[key] = round((true + noise) / step) * step
        return shown

    def text(self, shown: dict[str, float], written) -> str:
        """The lists of the ``[survey]`` table."""
        parts = []
        for kind, rows in self.rows.items():
            parts.append(f"{kind} = [\n")
            for key, row in rows:
                tool, value = self.tool[key], shown[key]
                if "HIGH" in row:  # the side that is seen to be high, right rail over left being positive
                    row, value = row.replace("HIGH", self.sides[int(value > 0)]), abs(value)
                parts.append(
                    f'  {{ id = "{key}", {row}, is = \'{written(value, tool)}\', by = "{tool}" }},\n'
                )
            parts.append("]\n\n")
        return "".join(parts)


def offset(p, a, b):
    """Offset of a point from the string a to b, to its left."""
    d = (b - a)[:2] / np.linalg.norm((b - a)[:2])
    w = (p - a)[:2]
    return d[0] * w[1] - d[1] * w[0]


def quoted(letter: str, count: int) -> str:
    """Names of marks as a list of the file: letter and number from 1."""
    return ", ".join(f'"{letter}{k}"' for k in range(1, count + 1))


def nearest_pegs(pegs, p, count):
    """Pegs from which a mark is measured."""
    return sorted(pegs, key=lambda n: np.linalg.norm(np.array(pegs[n][:2]) - p[:2]))[:count]


def add_distances(t: Survey, marks: dict, pegs: dict, lines: dict[str, int]) -> None:
    """Tape between pegs and to marks."""
    count = iter(range(1, 999))
    names = list(pegs)
    for i, a in enumerate(names):
        for b in names[i + 1 :]:
            far = np.linalg.norm(marks[a] - marks[b])
            t.add("distances", f"d{next(count):02d}", far, "tape", f'from = "{a}", to = "{b}"')
    for letter, n in lines.items():
        for k in range(1, n + 1):
            mark = f"{letter}{k}"
            for peg in nearest_pegs(pegs, marks[mark], 4 if k % 2 else 3):
                far = np.linalg.norm(marks[peg] - marks[mark])
                t.add("distances", f"d{next(count):02d}", far, "tape", f'from = "{peg}", to = "{mark}"')


def add_heights(t: Survey, marks: dict, pegs: dict, lines: dict[str, int]) -> None:
    """Levels from peg to peg, and to railheads and ground."""
    names = list(pegs)
    count = iter(range(1, 999))

    def height(of, above, to=""):
        surface = f', to = "{to}"' if to else ""
        rise = marks[of][2] - marks[above][2]
        t.add("heights", f"h{next(count):02d}", rise, "level", f'of = "{of}", above = "{above}"{surface}')

    for a, b in zip(names, [*names[1:], names[0]], strict=True):
        height(b, a)
    height(names[0], names[2])
    height(names[1], names[3])
    for letter, n in lines.items():
        for k in range(1, n + 1):
            near = nearest_pegs(pegs, marks[f"{letter}{k}"], 2)
            height(f"{letter}{k}", near[0], "railhead")
            height(f"{letter}{k}", near[1], "railhead")
    for mark in (m for m in marks if m.startswith("g")):
        height(mark, "P5")
        height(mark, "P6")


def crossing(upper: Track, lower: Track) -> tuple[float, float, float]:
    """Stations of the true crossing of the centre lines, and the angle there."""
    grid = np.arange(20.0, upper.length - 20.0, 1.0)
    left = np.array([lower.lateral(upper.point(s))[1] for s in grid])
    k = int(np.nonzero(left[:-1] * left[1:] <= 0.0)[0][0])
    lo, hi = grid[k], grid[k + 1]
    for _ in range(60):
        mid = 0.5 * (lo + hi)
        if lower.lateral(upper.point(mid))[1] * left[k] > 0.0:
            lo = mid
        else:
            hi = mid
    s, q = lo, float(lower.lateral(upper.point(lo))[0])
    return s, q, float(upper.direction(s) - lower.direction(q))


def lower_track() -> Track:
    """Tangent, easement, arc of 48 inches to the left; a wave of 0.2 mm; cant that nobody measured."""

    def curvature(s):
        return np.interp(s, [0.0, 300.0, 480.0], [0.0, 0.0, 1 / 1219.2]) + _wave(s, 0.2, 430.0, 0.4)

    def height(s):
        return 14.0 + 0.002 * s + 0.08 * np.sin(s / 90.0)

    def cant(s):
        return np.interp(s, [300.0, 480.0], [0.0, 0.45]) + 0.0 * s

    return Track((60.0, 300.0), np.radians(4.0), 1380.0, curvature, height, cant)


def upper_track() -> Track:
    """Straight but for a wave of 0.2 mm, rising 1 in 100."""

    def curvature(s):
        return _wave(s, 0.2, 390.0, 1.3)

    def height(s):
        return 94.0 + 0.01 * s + 0.06 * np.sin(s / 70.0)

    def cant(s):
        return 0.08 * np.sin(s / 110.0)

    return Track((690.0, 44.0), np.radians(77.5), 815.0, curvature, height, cant)


def true_marks(lower: Track, upper: Track) -> dict:
    """Every mark: the lower line on its right rail's head centre, the upper on its left rail's outer face."""
    marks = {name: np.array(at) for name, at in PEGS.items()}
    for k, s in enumerate(LOWER_AT, start=1):
        marks[f"a{k}"] = lower.rail(s, -1, -0.5 * (GAUGE + HEAD))
    for k, s in enumerate(UPPER_AT, start=1):
        marks[f"b{k}"] = upper.rail(s, 1, 0.5 * GAUGE + HEAD)
    for name, z in GROUND.items():
        marks[name] = np.array([0.0, 0.0, z])
    return marks


def make_survey(lower: Track, upper: Track) -> Survey:
    """List every reading with its true value."""
    t = Survey(TOOLS, ("canal", "gasworks"))
    m = true_marks(lower, upper)
    lines = {"a": len(LOWER_AT), "b": len(UPPER_AT)}
    add_distances(t, m, PEGS, lines)
    add_heights(t, m, PEGS, lines)
    for k, (p, a, b) in enumerate([("b7", "P5", "P6"), ("a8", "P1", "P2"), ("a11", "P1", "P2")], 1):
        left = offset(m[p], m[a], m[b])
        side = "left" if left > 0 else "right"
        row = f'of = "{p}", string = ["{a}", "{b}"], side = "{side}"'
        t.add("offsets", f"o{k:02d}", abs(left), "rule", row)
    chords = [("a5", "a7", "a9"), ("a6", "a8", "a10"), ("a7", "a9", "a11"), ("a8", "a10", "a12")]
    for k, (a, p, b) in enumerate([*chords, ("b4", "b6", "b8"), ("b6", "b8", "b10")], 1):
        left = offset(m[p], m[a], m[b])
        towards = "canal" if left > 0 else "gasworks"
        row = f'chord = ["{a}", "{b}"], at = "{p}", towards = "{towards}"'
        t.add("versines", f"v{k:02d}", abs(left), "straightedge", row)
    for k, n in enumerate((2, 5, 6, 7, 8, 9, 12), 1):
        cant = float(upper.cant(UPPER_AT[n - 1]))
        gap = cant * 2.0 * INCH / (GAUGE + HEAD)
        t.add("cross_levels", f"c{k:02d}", gap, "feeler", f'at = "b{n}", reach = \'2"\', high = "HIGH"')
    run = np.linalg.norm((m["b8"] - m["b6"])[:2])
    slope = np.arctan2(m["b8"][2] - m["b6"][2], run)
    t.add("level_angles", "s01", slope, "digital level", 'from = "b6", to = "b8"')
    return t


def written(value: float, tool: str) -> str:
    """A reading as it is written: fractions of an inch, thousandths for feelers, tenths of a degree."""
    if tool == "digital level":
        return f"{np.degrees(value):.1f} deg"
    if tool == "feeler":
        return f"{value / INCH:.3f}"
    whole, rest = divmod(abs(Fraction(round(value / INCH * 128), 128)), 1)
    sign = "-" if value < 0 and (whole or rest) else ""
    if not rest:
        return f'{sign}{whole}"'
    return f'{sign}{whole} {rest}"' if whole else f'{sign}{rest}"'


def file_text() -> str:
    """The job file."""
    t = make_survey(lower_track(), upper_track())
    shown = t.draw(np.random.default_rng(SEED), TAPE_SCALE)
    return HEAD_TEXT + t.text(shown, written) + TAIL_TEXT


def reversed_text() -> str:
    """The same readings of the same track and bridge, listed from the other end."""
    text = file_text()
    for letter, count in (("a", len(LOWER_AT)), ("b", len(UPPER_AT))):
        names = [f'"{letter}{k}"' for k in range(1, count + 1)]
        text = _swapped(text, (", ".join(names), ", ".join(reversed(names))))
    text = _swapped(
        text,
        ('left = "canal", right = "gasworks"', 'left = "gasworks", right = "canal"'),
        ('start = "dock", finish = "moor"', 'start = "moor", finish = "dock"'),
        ("along        = '2 3/32\"'", "along        = '-2 3/32\"'"),
    )
    for table in ("[[supports]]\n", "[[spans]]\n"):
        first, last = text.index(table), text.index("\n\n[", text.rindex(table))
        parts = text[first:last].strip().split(table)[1:]
        text = text[:first] + "\n".join(table + part.strip() + "\n" for part in reversed(parts)) + text[last:]
    ends = {'from   = "dock abutment"\nto     = "pier"': ("pier", "dock abutment"),
            'from   = "pier"\nto     = "moor abutment"': ("moor abutment", "pier")}  # fmt: skip
    for old, (start, end) in ends.items():
        text = _swapped(text, (old, f'from   = "{start}"\nto     = "{end}"'))
    return text


def other_datum_text() -> str:
    """The same job in a frame that is turned, shifted and counts heights from another peg."""
    return _swapped(
        file_text(),
        ('at      = "P1"\ntowards = "P2"\nheight  = "P1"', 'at      = "P3"\ntowards = "P5"\nheight  = "P4"'),
    )


def _swapped(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        if old not in text:
            raise ValueError(old)
        text = text.replace(old, new)
    return text


HEAD_TEXT = f"""\
# A job in inches on a gauge that disagrees with its scale. All of it is made up.

format = 1
name   = "Sallow Lane"
scale  = "4 mm = 1 ft"
gauge  = "16.5 mm"
unit   = "inch"
sides  = {{ left = "canal", right = "gasworks" }}
ends   = {{ start = "dock", finish = "moor" }}

[tools]
tape            = {{ sd = "0.02", scale = "0.05 %" }}
rule            = {{ sd = "0.016" }}
level           = {{ sd = '1/64"' }}
straightedge    = {{ sd = "0.008" }}
feeler          = {{ sd = "0.002" }}
caliper         = {{ sd = "0.002" }}
"digital level" = {{ sd = "0.1 deg" }}
"to be cut"     = {{ sd = "0.006" }}

[marks]
pegs   = ["P1", "P2", "P3", "P4", "P5", "P6"]
ground = ["g1", "g2", "g3"]
lower  = {{ line = "lower", rail = "gasworks", face = "head centre", names = [{quoted("a", len(LOWER_AT))}] }}
upper  = {{ line = "upper", rail = "canal", face = "outer", names = [{quoted("b", len(UPPER_AT))}] }}

[datum]
at      = "P1"
towards = "P2"
height  = "P1"

[survey]
set_aside = []

"""

TAIL_TEXT = """\
[lines.lower]
by        = "caliper"
track     = "hand-laid"                         # sleepers cut and laid one by one
curves    = 1
gauge     = ["0.651", "0.652", "16.55 mm"]
rail_head = "0.036"
cant      = "not measured"

[lines.upper]
by        = "caliper"
track     = "flexible"
curves    = 0
gauge     = ["0.652", "0.651"]
rail_head = "0.036"
cant      = "measured"

[layers]
by         = "caliper"
rail       = ["0.082", "0.083"]
tie        = "0.063"
bridge_tie = ['1/8"', "0.124"]                  # longitudinal timbers would be deeper: these are sleepers

[bridge]
upper   = "upper"
lower   = "lower"
by      = "caliper"
packing = { thinnest = "0.010", most = '1/8"' }
end_gap = "0.02"
edge    = "0.02"
tie_overhang = '1/16"'
tie_width    = "10 in proto"
tie_pitch    = "2 ft 6 in proto"
spacing       = { is = '7/8"', by = "to be cut" }
flange        = "0.2"
shoe          = ["0.118", "0.120"]
shoe_along    = '5/32"'
bearing_inset = "0.14"

[[supports]]
name       = "dock abutment"
kind       = "abutment"
base       = "g1"
by         = "to be cut"
cap        = "0.16"
cap_along  = '3/4"'
cap_across = '1 3/4"'

[[supports]]
name         = "pier"
kind         = "pier"
base         = "g2"
along        = '2 3/32"'                        # from the crossing, towards the moor
by           = "to be cut"
cap          = '5/32"'
cap_along    = '3/4"'
cap_across   = '1 5/8"'
footing      = "0.1"
shaft_along  = '1/2"'
shaft_across = '1 3/8"'
stock        = { is = '2 1/2"', by = "caliper" }

[[supports]]
name       = "moor abutment"
kind       = "abutment"
base       = "g3"
by         = "to be cut"
cap        = "0.16"
cap_along  = '3/4"'
cap_across = '1 3/4"'

[[spans]]
name   = "long span"
from   = "dock abutment"
to     = "pier"
by     = "caliper"
length = '8"'
depth  = { canal = ["0.788", "0.790"], gasworks = "0.791" }

[[spans]]
name   = "short span"
from   = "pier"
to     = "moor abutment"
by     = "caliper"
length = '6 1/16"'
depth  = "0.789"

[clearance]
margin = { side = "9 in proto", above = "1 ft proto" }

[[vehicles]]
name    = "bogie coach"
runs_on = ["lower", "upper"]
by      = "caliper"
length  = "63 ft proto"
trucks  = "44'6\\" proto"
outline = [
  ['1/4"', "8 ft proto"], ["0.4", "8'11\\" proto"], ["1.4", "8'11\\" proto"], ["12'6\\" proto", "4 ft proto"],
]
play    = { side = "0.01", roll = "0.3 deg" }

[[vehicles]]
name    = "tall van"
runs_on = ["lower", "upper"]
by      = "caliper"
length  = "3 1/8"
trucks  = "1 7/8"
outline = [['1/4"', "1.2"], ["0.3", "1.4"], ["1.9", "1.4"], ['2 1/8"', "0.9"]]
play    = { side = "0.012", roll = "0.4 deg" }

[[vehicles]]
name    = "wagon with a wide boiler"     # out of gauge
runs_on = ["lower"]
by      = "caliper"
trucks  = "3"
sections = [
  { from = '-2 1/4"', to = '2 1/4"', outline = [["0.3", "1.3"], ["0.5", "1.4"]] },
  { from = '-1 1/2"', to = '1 1/2"', outline = [["0.5", "1.1"], ["1.2", "1.9"], ["1.9", "1.1"]] },
]
play    = { side = "0.012", roll = "0.4 deg" }
"""


def main(file: Path, text: str) -> None:
    """Write the job file if asked to."""
    if "--write" in sys.argv:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main(FILE, file_text())
    s, q, angle = crossing(upper_track(), lower_track())
    apart = upper_track().height(s) - lower_track().height(q)
    print(
        f"crossing at upper {s:.1f}, lower {q:.1f}, angle {np.degrees(angle):.1f} deg, separation {apart:.2f}"
    )
