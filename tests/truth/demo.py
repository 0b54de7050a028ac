"""The truth behind the demo job, and the readings that a builder would have taken of it.

All of it is invented. The truth is two laid lines with waves, heights and cant, sizes of parts, and
the tools' own errors; the readings are what tools of stated doubt would show, rounded as they are
read. Geometry here is written out on its own, by finite steps, and shares no code with the package.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
SHIPPED = HERE.parents[2] / "src" / "spanwright" / "files" / "demo" / "job.toml"
SEED = 20261125
GAUGE, HEAD = 9.04, 0.62
BLUNDER, BLUNDER_BY = "d34", 8.0  # this reading is wrong by so many of its doubts

TOOLS = {  # doubt, step in which it is read
    "tape": (0.5, 0.5),
    "level": (0.3, 0.1),
    "rule": (0.3, 0.25),
    "feeler": (0.05, 0.05),
    "caliper": (0.05, 0.01),
    "straightedge": (0.2, 0.1),
    "plumb": (0.7, 0.5),
    "bevel": (0.0035, 0.0),
    "digital level": (0.0017, 0.0),
}
TAPE_SCALE = 0.0005


@dataclass
class Track:
    """A true line: plan by fine steps from its curvature, heights and cant by formula."""

    start: tuple[float, float]
    heading: float
    length: float
    curvature: object
    height: object
    cant: object
    s: np.ndarray = field(init=False)
    x: np.ndarray = field(init=False)
    y: np.ndarray = field(init=False)
    angle: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        step = 0.05
        self.s = np.arange(-60.0, self.length + 60.0, step)
        kappa = self.curvature(self.s)
        turn = np.concatenate([[0.0], np.cumsum(0.5 * (kappa[1:] + kappa[:-1]) * step)])
        nought = np.interp(0.0, self.s, turn)
        self.angle = self.heading + turn - nought
        c, d = np.cos(self.angle), np.sin(self.angle)
        x = np.concatenate([[0.0], np.cumsum(0.5 * (c[1:] + c[:-1]) * step)])
        y = np.concatenate([[0.0], np.cumsum(0.5 * (d[1:] + d[:-1]) * step)])
        self.x = x - np.interp(0.0, self.s, x) + self.start[0]
        self.y = y - np.interp(0.0, self.s, y) + self.start[1]

    def point(self, s, left=0.0):
        """Plan point beside the line, left positive."""
        a = np.interp(s, self.s, self.angle)
        x = np.interp(s, self.s, self.x) - left * np.sin(a)
        y = np.interp(s, self.s, self.y) + left * np.cos(a)
        return np.array([x, y])

    def direction(self, s):
        return np.interp(s, self.s, self.angle)

    def rail(self, s, side, left):
        """A point on a rail: plan and railhead height. side 1 left, -1 right, 0 the middle."""
        x, y = self.point(s, left)
        return np.array([x, y, self.height(s) - 0.5 * side * self.cant(s)])

    def lateral(self, p):
        """Station of the foot of a plan point and its offset to the left."""
        k = int(np.argmin((self.x - p[0]) ** 2 + (self.y - p[1]) ** 2))
        a = self.angle[k]
        dx, dy = p[0] - self.x[k], p[1] - self.y[k]
        return self.s[k] + dx * np.cos(a) + dy * np.sin(a), -dx * np.sin(a) + dy * np.cos(a)


def _wave(s, amplitude, length, phase):
    w = 2.0 * np.pi / length
    return -amplitude * w * w * np.sin(w * s + phase)


def lower_track() -> Track:
    """Tangent, easement, long arc to the left; a wave of 0.3 mm."""

    def curvature(s):
        return np.interp(s, [0.0, 180.0, 300.0], [0.0, 0.0, 1 / 620.0]) + _wave(s, 0.3, 380.0, 0.7)

    def height(s):
        return 11.8 + 0.003 * s + 0.10 * np.sin(s / 62.0 + 1.0)

    def cant(s):
        return 0.22 + 0.10 * np.sin(s / 140.0)

    return Track((142.24, 161.48), np.radians(-7.33), 900.0, curvature, height, cant)


def upper_track() -> Track:
    """Easement out of a tangent into a 381 mm arc to the left, up a grade; a wave of 0.3 mm."""

    def curvature(s):
        return np.interp(s, [0.0, 120.0, 230.0], [0.0, 0.0, 1 / 381.0]) + _wave(s, 0.3, 350.0, 2.1)

    def height(s):
        # 2.1 % easing to 1.5 % by a vertical curve 240 mm long about station 430
        ramp = np.clip(s - 310.0, 0.0, 240.0)
        beyond = np.maximum(s - 550.0, 0.0)
        return 66.45 + 0.021 * s - 0.006 * (ramp * ramp / 480.0 + beyond) + 0.08 * np.sin(s / 55.0)

    def cant(s):
        return np.interp(s, [100.0, 240.0], [0.0, 0.30]) + 0.05 * np.sin(s / 90.0)

    return Track((180.0, 70.0), np.radians(-2.0), 800.0, curvature, height, cant)


def crossing(upper: Track, lower: Track) -> tuple[float, float]:
    """Stations of the true crossing of the centre lines."""
    best = (np.inf, 0.0)
    for s in np.arange(150.0, 700.0, 1.0):
        _, left = lower.lateral(upper.point(s))
        if abs(left) < best[0]:
            best = (abs(left), s)
    lo, hi = best[1] - 2.0, best[1] + 2.0
    sign = np.sign(lower.lateral(upper.point(lo))[1])
    for _ in range(60):
        mid = 0.5 * (lo + hi)
        if np.sign(lower.lateral(upper.point(mid))[1]) == sign:
            lo = mid
        else:
            hi = mid
    return lo, float(lower.lateral(upper.point(lo))[0])


PEGS = {
    "P1": (0.0, 0.0, 0.0),
    "P2": (1060.0, 0.0, 0.6),
    "P3": (1066.0, 612.0, -0.4),
    "P4": (4.0, 604.0, 0.3),
    "P5": (520.0, -18.0, 0.2),
    "P6": (560.0, 640.0, 0.1),
}
LOWER_AT = np.array([10, 90, 170, 250, 325, 400, 475, 550, 630, 710, 790, 880.0])
UPPER_AT = np.array([12, 85, 155, 225, 290, 350, 410, 470, 530, 590, 655, 720, 790.0])
GROUND = {"g1": 1.2, "g2": 0.7, "g3": 0.9, "g4": 0.4, "g5": 1.6}


@dataclass
class Layout:
    """Where pegs, ground marks and the marks on the rails are."""

    pegs: dict = field(default_factory=lambda: dict(PEGS))
    ground: dict = field(default_factory=lambda: dict(GROUND))
    lower_at: np.ndarray = field(default_factory=lambda: LOWER_AT)
    upper_at: np.ndarray = field(default_factory=lambda: UPPER_AT)


@dataclass
class Truth:
    """True values of everything that was read, by id, and how each reading is written."""

    marks: dict
    values: dict = field(default_factory=dict)
    rows: dict = field(default_factory=dict)
    tool: dict = field(default_factory=dict)
    lower: Track = field(default_factory=lower_track)
    upper: Track = field(default_factory=upper_track)
    layout: Layout = field(default_factory=Layout)

    def add(self, kind, key, value, tool, row):
        self.values[key] = float(value)
        self.tool[key] = tool
        self.rows.setdefault(kind, []).append((key, row))


def _marks(lower: Track, upper: Track, layout: Layout) -> dict:
    marks = {name: np.array(at) for name, at in layout.pegs.items()}
    for k, s in enumerate(layout.lower_at, start=1):
        marks[f"a{k}"] = lower.rail(s, 1, 0.5 * GAUGE)  # inner face of the aisle (left) rail
    for k, s in enumerate(layout.upper_at, start=1):
        marks[f"b{k}"] = upper.rail(s, -1, -0.5 * GAUGE)  # inner face of the wall (right) rail
    for name, z in layout.ground.items():
        marks[name] = np.array([0.0, 0.0, z])
    return marks


def _offset(p, a, b):
    d = (b - a)[:2] / np.linalg.norm((b - a)[:2])
    w = (p - a)[:2]
    return d[0] * w[1] - d[1] * w[0]


def _nearest_pegs(p, count, pegs):
    """Pegs from which a mark is measured: near, and seen under different directions."""
    names = sorted(pegs, key=lambda n: np.linalg.norm(np.array(pegs[n][:2]) - p[:2]))
    return names[:count]


def make_truth(lower=None, upper=None, layout=None) -> Truth:
    """List every reading with its true value; of the demo's lines unless others are given."""
    lower, upper, layout = lower or lower_track(), upper or upper_track(), layout or Layout()
    marks = _marks(lower, upper, layout)
    t = Truth(marks=marks, lower=lower, upper=upper, layout=layout)
    number = iter(range(1, 999))

    def distance(a, b):
        key = f"d{next(number):02d}"
        t.add("distances", key, np.linalg.norm(marks[a] - marks[b]), "tape", f'from = "{a}", to = "{b}"')

    pegs = [("P1", "P2"), ("P2", "P3"), ("P3", "P4"), ("P4", "P1"), ("P1", "P3"), ("P2", "P4"), ("P1", "P5"),
            ("P5", "P2"), ("P4", "P6"), ("P6", "P3"), ("P5", "P6"), ("P5", "P4"), ("P5", "P3"), ("P6", "P1"), ("P6", "P2")]  # fmt: skip
    for a, b in pegs:
        distance(a, b)
    for line, count in (("a", len(t.layout.lower_at)), ("b", len(t.layout.upper_at))):
        for k in range(1, count + 1):
            for peg in _nearest_pegs(marks[f"{line}{k}"], 4 if k % 3 == 2 else 3, layout.pegs):
                distance(peg, f"{line}{k}")
    for k, (p, a, b) in enumerate(
        [("a4", "P1", "P2"), ("b2", "P1", "P2"), ("b9", "P5", "P6"), ("a9", "P5", "P6")], 1
    ):
        left = _offset(marks[p], marks[a], marks[b])
        side = "left" if left > 0 else "right"
        t.add(
            "offsets", f"o{k:02d}", abs(left), "rule", f'of = "{p}", string = ["{a}", "{b}"], side = "{side}"'
        )
    for k, (a, m, b) in enumerate([("b4", "b6", "b8"), ("b5", "b7", "b9"), ("b6", "b8", "b10"), ("a4", "a6", "a8"), ("a5", "a7", "a9")], 1):  # fmt: skip
        left = _offset(marks[m], marks[a], marks[b])
        towards = "aisle" if left > 0 else "wall"
        t.add(
            "versines",
            f"v{k:02d}",
            abs(left),
            "straightedge",
            f'chord = ["{a}", "{b}"], at = "{m}", towards = "{towards}"',
        )
    _heights(t)
    _others(t)
    return t


def _heights(t: Truth) -> None:
    marks = t.marks
    number = iter(range(1, 999))

    def height(of, above, to=""):
        key = f"h{next(number):02d}"
        surface = f', to = "{to}"' if to else ""
        t.add(
            "heights",
            key,
            marks[of][2] - marks[above][2],
            "level",
            f'of = "{of}", above = "{above}"{surface}',
        )

    for a, b in [("P2", "P1"), ("P3", "P2"), ("P4", "P3"), ("P1", "P4"), ("P5", "P1"), ("P5", "P2"), ("P6", "P4"), ("P6", "P3"), ("P6", "P5")]:  # fmt: skip
        height(a, b)
    for line, count in (("a", len(t.layout.lower_at)), ("b", len(t.layout.upper_at))):
        for k in range(1, count + 1):
            near = _nearest_pegs(marks[f"{line}{k}"], 2, t.layout.pegs)
            height(f"{line}{k}", near[0], "railhead")
            if k % 2 == 0 or (line == "b" and 5 <= k <= 10):
                height(f"{line}{k}", near[1], "railhead")
    for name in t.layout.ground:
        height(name, "P5")
        height(name, "P6" if name != "g1" else "P1")


def _others(t: Truth) -> None:
    """Cross levels, an angle, slopes and a plumb."""
    distance = GAUGE + HEAD
    number = iter(range(1, 99))
    for line, track, at, which in (
        ("a", t.lower, t.layout.lower_at, (2, 4, 6, 7, 8, 10)),
        ("b", t.upper, t.layout.upper_at, (2, 4, 6, 7, 8, 9, 11)),
    ):
        for k in which:
            cant = track.cant(at[k - 1])
            high = "wall" if cant > 0 else "aisle"
            t.add(
                "cross_levels",
                f"c{next(number):02d}",
                abs(cant) * 30.0 / distance,
                "feeler",
                f'at = "{line}{k}", reach = "30", high = "{high}"',
            )
    m = t.marks

    def bearing(a, b):
        return np.arctan2(m[b][0] - m[a][0], m[b][1] - m[a][1])

    turn = (bearing("P1", "P2") - bearing("P1", "P4")) % (2.0 * np.pi)
    t.add("angles", "w01", turn, "bevel", 'at = "P1", from = "P4", to = "P2"')
    for k, (a, b) in enumerate([("b5", "b7"), ("b8", "b10")], 1):
        run = np.linalg.norm((m[b] - m[a])[:2])
        t.add(
            "level_angles",
            f"s{k:02d}",
            np.arctan2(m[b][2] - m[a][2], run),
            "digital level",
            f'from = "{a}", to = "{b}"',
        )


def _written(value, tool):
    if tool in ("bevel", "digital level"):
        return f"{np.degrees(value):.1f} deg"
    step = TOOLS[tool][1]
    text = f"{round(value / step) * step:.2f}".rstrip("0").rstrip(".")
    return text or "0"


def draw(truth: Truth, rng: np.random.Generator, *, blunder: bool = True) -> dict[str, float]:
    """Readings as tools would show them, unrounded angles in radians, lengths rounded to the tool's step."""
    scale = rng.normal(0.0, TAPE_SCALE)
    shown = {}
    for key, value in truth.values.items():
        sd, step = TOOLS[truth.tool[key]]
        step = {"bevel": np.radians(0.1), "digital level": np.radians(0.1)}.get(truth.tool[key], step)
        noise = rng.normal(0.0, np.sqrt(max(sd**2 - step**2 / 12.0, 0.0)))
        if blunder and key == BLUNDER:
            noise += BLUNDER_BY * sd
        true = value * (1.0 + scale) if truth.tool[key] == "tape" else value
        shown[key] = round((true + noise) / step) * step
    return shown


def job_text(truth: Truth, shown: dict[str, float]) -> str:
    """The demo's job file."""
    parts = [(HERE.parent / "demo_head.toml").read_text(encoding="utf-8")]
    notes = {
        "distances": "straight through the air, with a steel tape",
        "offsets": "square off a string between two pegs",
        "versines": "middle ordinate of a chord, straightedge and rule, all three marks on the same rail",
        "heights": "from the levelling pegs; to the railhead on track",
        "cross_levels": "a 30 mm block across the rails, feeler under its low end",
        "angles": "clockwise",
        "level_angles": "digital level along the rail",
    }
    for kind, rows in truth.rows.items():
        parts.append(f"{kind} = [  # {notes[kind]}\n")
        for key, row in rows:
            tool = truth.tool[key]
            parts.append(
                f'  {{ id = "{key}", {row}, is = "{_written(shown[key], tool)}", by = "{tool}" }},\n'
            )
        parts.append("]\n\n")
    parts.append((HERE.parent / "demo_tail.toml").read_text(encoding="utf-8"))
    return "".join(parts)


def shipped_text() -> str:
    """The demo's job file as it is shipped."""
    truth = make_truth()
    return job_text(truth, draw(truth, np.random.default_rng(SEED)))


if __name__ == "__main__":
    if "--write" in sys.argv:
        SHIPPED.parent.mkdir(parents=True, exist_ok=True)
        SHIPPED.write_text(shipped_text(), encoding="utf-8")
    t = make_truth()
    s, q = crossing(t.upper, t.lower)
    angle = np.degrees(t.upper.direction(s) - t.lower.direction(q))
    print(f"crossing at upper {s:.1f}, lower {q:.1f}, angle {angle:.1f} deg, at {t.upper.point(s)}")
    print(
        f"separation {t.upper.height(s) - t.lower.height(q):.2f}; readings {len(t.values)}; {t.rows['distances'][33]}"
    )
