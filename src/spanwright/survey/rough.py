"""Rough places to start the adjustment from, found from the readings themselves.

Heights spread from one mark to the next. Plan places spread outward from the datum: the mark that is
best tied to those already placed is placed next, by trying the crossings of its circles and offset
lines and keeping the one that all its readings like best. Where two places are nearly as good the
mark is remembered as *two-sided*; the stage tries the other side after the adjustment and refuses to
guess if both fit.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from math import atan2, cos, hypot, sin, sqrt

import numpy as np

from spanwright.errors import NoSolutionError
from spanwright.survey.network import Network
from spanwright.survey.readings import DatumKind, Kind, Reading, SurveyInput

FloatArray = np.ndarray
Point = tuple[float, float]

CIRCLES = frozenset({Kind.DISTANCE, Kind.LEVEL_DISTANCE})
STRINGS = frozenset({Kind.OFFSET, Kind.VERSINE, Kind.ALONG})
_TIES = CIRCLES | STRINGS | {Kind.PLUMB_X, Kind.PLUMB_Y, Kind.ANGLE}  # that tell how well a place fits
#: What is asked of such a reading, which marks it names, its value and its doubt.
_Tie = tuple[str, tuple[str, ...], float, float]
_KINDS = {kind: "along" if kind is Kind.ALONG else "left" for kind in STRINGS}
_KINDS |= {Kind.PLUMB_X: "x", Kind.PLUMB_Y: "y", Kind.ANGLE: "angle"}
#: A mark whose softened square sum is more than this is placed anew: its readings are missed by much. [1]
_ASTRAY = 50.0
_SWEEPS = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RoughPlaces:
    """Start values and the marks that could lie on either side.

    Parameters
    ----------
    start : ndarray, shape (u,)
        Rough values of all unknowns. [any]
    two_sided : tuple of (str, str, str)
        Mark, and the two marks whose line it could be mirrored in.
    """

    start: FloatArray
    two_sided: tuple[tuple[str, str, str], ...]


def rough_heights(given: SurveyInput, network: Network) -> dict[str, float]:
    """Spread heights from mark to mark.

    Parameters
    ----------
    given : SurveyInput
        Marks and readings.
    network : Network
        Holds the observed values and the datum.

    Returns
    -------
    dict
        Height of every mark that has one.
    """
    need = [n[:-2] for n in network.names if n.endswith(".z")]
    known = {
        n[:-2]: float(h)
        for n, h, f in zip(network.names, network.held, network.free, strict=True)
        if n.endswith(".z") and not f
    }
    for r, value in zip(network.readings, network.observed.value, strict=False):
        if r.kind is Kind.COORDINATE_Z:
            known.setdefault(r.marks[0], float(value))
    if need and not known:
        known[given.datum.height or need[0]] = 0.0
    while _spread(network, known):
        pass
    for r in network.readings:
        if r.kind is Kind.LEVEL_ANGLE:  # good enough to start from
            a, b = r.marks
            known.setdefault(b, known.get(a, 0.0))
            known.setdefault(a, known.get(b, 0.0))
    lost = [m for m in need if m not in known]
    if lost:
        raise NoSolutionError(
            f"mark {lost[0]} has no height",
            code="SU020",
            where=lost[0],
            hint="Read its height from another mark, or say that the tape was held level",
        )
    return known


def _spread(network: Network, known: dict[str, float]) -> bool:
    """Carry known heights one reading further; tell whether that gave a new one."""
    before = len(known)
    for r, value in zip(network.readings, network.observed.value, strict=False):
        if r.kind in (Kind.HEIGHT, Kind.STEPPED_BLOCK):
            upper, lower = r.marks
            if lower in known:
                known.setdefault(upper, known[lower] + float(value))
            elif upper in known:
                known[lower] = known[upper] - float(value)
    return len(known) > before


class _Placer:
    """Places marks one after another.

    The first mark that may lie on either side fixes the hand of all that come after it. *turned* puts it on
    the other side.
    """

    def __init__(
        self, given: SurveyInput, network: Network, heights: dict[str, float], *, turned: bool
    ) -> None:
        self.heights = heights
        self.turned = turned
        self.order = [m.name for m in given.marks]
        self.line_of = {m.name: m.line for m in given.marks}
        self.at: dict[str, Point] = {}
        self.two_sided: list[tuple[str, str, str]] = []
        # plain numbers: one at a time they are several times as fast as those of arrays
        values, sds = network.observed.value.tolist(), network.sds.tolist()
        self.readings: list[tuple[Reading, float, float]] = list(
            zip(network.readings, values, sds, strict=False)
        )
        self.of: dict[str, list[tuple[Reading, float, float]]] = {m: [] for m in self.order}
        for one in self.readings:
            for mark in dict.fromkeys(one[0].marks):
                self.of.setdefault(mark, []).append(one)
        self.ties_of = {
            mark: [self.tie(*one) for one in own if one[0].kind in _TIES] for mark, own in self.of.items()
        }

    def tie(self, r: Reading, value: float, sd: float) -> _Tie:
        """Tell what is asked of a reading again and again; that of a distance is its length in plan."""
        if r.kind in CIRCLES:
            return "circle", r.marks, self.level(r.marks[0], r.marks[1], r.kind, value), sd
        return _KINDS[r.kind], r.marks, value, sd

    def level(self, a: str, b: str, kind: Kind, value: float) -> float:
        if kind is Kind.LEVEL_DISTANCE:
            return value
        rise = self.heights.get(a, 0.0) - self.heights.get(b, 0.0)
        return sqrt(max(value * value - rise * rise, 1e-6))

    def circles(self, mark: str) -> list[tuple[str, float]]:
        found: dict[str, float] = {}
        for r, value, _ in self.of[mark]:
            if r.kind in CIRCLES:
                other = r.marks[1] if r.marks[0] == mark else r.marks[0]
                if other in self.at and other not in found:
                    found[other] = self.level(mark, other, r.kind, float(value))
        return list(found.items())

    def strings(self, mark: str) -> dict[tuple[str, str], dict[str, float]]:
        found: dict[tuple[str, str], dict[str, float]] = {}
        for r, value, _ in self.of[mark]:
            if r.kind in STRINGS and r.marks[0] == mark and r.marks[1] in self.at and r.marks[2] in self.at:
                name = "along" if r.kind is Kind.ALONG else "offset"
                found.setdefault((r.marks[1], r.marks[2]), {})[name] = float(value)
        return found

    def crossings(self, mark: str) -> list[Point]:
        """Places where lines cross that two readings from different strings put the mark on."""
        lines = []
        for (a, b), known in self.strings(mark).items():
            p, q = np.array(self.at[a]), np.array(self.at[b])
            d = (q - p) / np.linalg.norm(q - p)
            n = np.array([-d[1], d[0]])
            if "offset" in known:
                lines.append((n, float(n @ p) + known["offset"]))
            if "along" in known:
                lines.append((d, float(d @ p) + known["along"]))
        found = []
        for (n1, c1), (n2, c2) in combinations(lines, 2):
            slant = float(n1[0] * n2[1] - n1[1] * n2[0])
            if abs(slant) > 0.1:
                x, y = (c1 * n2[1] - c2 * n1[1]) / slant, (n1[0] * c2 - n2[0] * c1) / slant
                found.append((float(x), float(y)))
        return found

    def misfit(self, mark: str, place: Point) -> float:
        """Square sum of the readings that tie this mark to placed ones, softened against slips."""
        total = 0.0
        for kind, marks, value, sd in self.ties_of[mark]:
            p = [place if m == mark else self.at.get(m) for m in marks]
            if None in p:
                continue
            (x, y), *others = (one for one in p if one is not None)
            dx, dy = others[0][0] - x, others[0][1] - y
            if kind == "circle":
                gap = hypot(dx, dy) - value
            elif kind in ("along", "left"):
                along_x, along_y = others[1][0] - others[0][0], others[1][1] - others[0][1]
                length = hypot(along_x, along_y)
                ahead, left = -(along_x * dx + along_y * dy), along_y * dx - along_x * dy
                gap = (ahead if kind == "along" else left) / length - value
            elif kind == "x":
                gap = -dx - value
            elif kind == "y":
                gap = -dy - value
            else:  # an angle
                fore_x, fore_y = others[1][0] - x, others[1][1] - y
                turn = atan2(fore_x, fore_y) - atan2(dx, dy) - value
                gap = atan2(sin(turn), cos(turn)) * hypot(fore_x, fore_y)
                sd = sd * hypot(fore_x, fore_y)
            q = (gap / (sd + 1.0)) ** 2
            total += q / (1.0 + q / 50.0)
        return total

    def candidates(self, mark: str) -> list[tuple[Point, tuple[str, str] | None]]:
        """Places where this mark could lie, each with the line it could be mirrored in."""
        found: list[tuple[Point, tuple[str, str] | None]] = []
        found += [(place, None) for place in self.crossings(mark)]
        for r, value, _ in self.of[mark]:
            if r.kind in (Kind.PLUMB_X, Kind.PLUMB_Y):
                other = r.marks[1] if r.marks[0] == mark else r.marks[0]
                if other in self.at:
                    found.append((self.at[other], None))
            if r.kind is Kind.BEARING:
                other, sign = (r.marks[0], 1.0) if r.marks[1] == mark else (r.marks[1], -1.0)
                for centre, radius in self.circles(mark):
                    if centre == other:
                        x, y = self.at[other]
                        found.append(
                            ((x + sign * radius * np.sin(value), y + sign * radius * np.cos(value)), None)
                        )
        for (a, ra), (b, rb) in combinations(self.circles(mark)[:6], 2):
            p, q = np.array(self.at[a]), np.array(self.at[b])
            base = float(np.linalg.norm(q - p))
            if base < 1e-6:
                continue
            d = (q - p) / base
            u = (ra**2 - rb**2 + base**2) / (2.0 * base)
            h2 = ra**2 - u**2
            h = float(np.sqrt(h2)) if h2 > 0 else 0.0
            for side in (1.0, -1.0):
                place = p + u * d + side * h * np.array([-d[1], d[0]])
                found.append(((float(place[0]), float(place[1])), (a, b)))
        return found

    def ties(self, mark: str) -> int:
        count = len(self.circles(mark)) + sum(len(v) for v in self.strings(mark).values())
        for r, _, _ in self.of[mark]:
            if r.kind in (Kind.PLUMB_X, Kind.PLUMB_Y, Kind.BEARING):
                count += any(m in self.at for m in r.marks if m != mark)
        return count

    def continues(self, mark: str, place: Point) -> float:
        """How well a place continues the marks of the same line that are placed already."""
        line = self.line_of[mark]
        same = [m for m in self.order if m in self.at and line and self.line_of[m] == line]
        if not same:
            return 0.0
        return min(float(np.hypot(place[0] - self.at[m][0], place[1] - self.at[m][1])) for m in same)

    def place(self, mark: str) -> bool:
        options = self.candidates(mark)
        if not options:
            return False
        scored = sorted(((self.misfit(mark, p), k) for k, (p, _) in enumerate(options)))
        best_score, best = scored[0]
        place, mirror = options[best]
        if mirror is not None:
            p, q = np.array(self.at[mirror[0]]), np.array(self.at[mirror[1]])
            other = reflect(np.array(place), p, q)
            rival = (float(other[0]), float(other[1]))
            if self.misfit(mark, rival) < best_score + 25.0:
                turned = self.turned and not self.two_sided
                self.two_sided.append((mark, *mirror))
                if (self.continues(mark, rival) < self.continues(mark, place)) != turned:
                    place = rival
        self.at[mark] = place
        return True

    def astray(self, marks: list[str]) -> list[str]:
        """Return the marks whose readings dislike where they are."""
        return [m for m in marks if self.misfit(m, self.at[m]) > _ASTRAY]

    def settle(self, marks: list[str]) -> None:
        """Place anew the marks whose readings dislike their places, now that all others are placed.

        A mark that was placed early, on one side of two that were as good, takes those after it astray.
        """
        for _ in range(_SWEEPS):
            astray = self.astray(marks)
            if not astray:
                return
            for mark in astray:
                scored = [(self.misfit(mark, p), p) for p, _ in self.candidates(mark)]
                best, place = min(scored, default=(np.inf, self.at[mark]))
                if best < self.misfit(mark, self.at[mark]):
                    self.at[mark] = place


def reflect(point: FloatArray, a: FloatArray, b: FloatArray) -> FloatArray:
    """Mirror a point in the line through two others.

    Parameters
    ----------
    point : ndarray, shape (2,)
        The point. [mm]
    a : ndarray, shape (2,)
        On the line. [mm]
    b : ndarray, shape (2,)
        On the line, elsewhere. [mm]

    Returns
    -------
    ndarray, shape (2,)
        Its mirror image. [mm]
    """
    d = (b - a) / np.linalg.norm(b - a)
    foot = a + ((point - a) @ d) * d
    return 2.0 * foot - point


def rough_places(given: SurveyInput, network: Network) -> RoughPlaces:
    """Find start values for the adjustment.

    Parameters
    ----------
    given : SurveyInput
        Marks, readings, datum.
    network : Network
        Observed values and unknowns.

    Returns
    -------
    RoughPlaces
        Start values and the two-sided marks.

    Raises
    ------
    NoSolutionError
        If a mark hangs in the air: no readings tie it to the rest.
    """
    heights = rough_heights(given, network)
    placer = _placed(given, network, heights, turned=False)
    loose = [m for m in placer.at if m not in _fixed_places(given, network)]
    if placer.two_sided and placer.astray(loose):
        # readings that tell one side from the other may have come too late, against all placed by then
        other = _placed(given, network, heights, turned=True)
        placer = min(placer, other, key=lambda one: sum(one.misfit(m, one.at[m]) for m in loose))
    start = np.zeros(len(network.names))
    for k, name in enumerate(network.names):
        owner, _, axis = name.rpartition(".")
        if owner and axis in ("x", "y"):
            start[k] = placer.at[owner]["xy".index(axis)]
        elif owner and axis == "z":
            start[k] = heights[owner]
    return RoughPlaces(start=start, two_sided=tuple(placer.two_sided))


def _placed(given: SurveyInput, network: Network, heights: dict[str, float], *, turned: bool) -> _Placer:
    """Place all marks, the first that may lie on either side on the other one if *turned*."""
    placer = _Placer(given, network, heights, turned=turned)
    need = [m.name for m in given.marks if any(f"{m.name}.{a}" in network.names for a in "xy")]
    _known_places(given, network, placer, need)
    _seed(given, placer, need)
    while waiting := [m for m in need if m not in placer.at]:
        waiting.sort(key=lambda m: -placer.ties(m))
        if not any(placer.place(m) for m in waiting):
            raise NoSolutionError(
                f"no two readings tie mark {waiting[0]} to marks that are placed",
                code="SU021",
                where=waiting[0],
                hint="Measure it from two marks, or give its rough place",
            )
    placer.settle([m for m in need if m not in _fixed_places(given, network)])
    return placer


def _fixed_places(given: SurveyInput, network: Network) -> frozenset[str]:
    """Name the marks whose places are given: by the datum, or roughly by the builder."""
    free = dict(zip(network.names, network.free, strict=True))
    fixed = {m.name for m in given.marks if m.rough is not None}
    fixed |= {m.name for m in given.marks if not all(free.get(f"{m.name}.{a}", True) for a in "xy")}
    return frozenset(fixed | {given.datum.at, given.datum.towards})


def _known_places(given: SurveyInput, network: Network, placer: _Placer, need: list[str]) -> None:
    """Place what the datum holds, what has a rough place, and what was read as coordinates."""
    held = dict(zip(network.names, network.held, strict=True))
    free = dict(zip(network.names, network.free, strict=True))
    for mark in given.marks:
        if not any(free.get(f"{mark.name}.{a}", True) for a in "xy"):
            placer.at[mark.name] = (float(held[f"{mark.name}.x"]), float(held[f"{mark.name}.y"]))
        elif mark.rough is not None and mark.name in need:
            placer.at[mark.name] = mark.rough
    read: dict[str, dict[Kind, float]] = {}
    for r, value, _ in placer.readings:
        if r.kind in (Kind.COORDINATE_X, Kind.COORDINATE_Y):
            read.setdefault(r.marks[0], {})[r.kind] = float(value)
    for name, both in read.items():
        if len(both) == 2:
            placer.at.setdefault(name, (both[Kind.COORDINATE_X], both[Kind.COORDINATE_Y]))


def _seed(given: SurveyInput, placer: _Placer, need: list[str]) -> None:
    """Place the first two marks where the datum or the first distance puts them."""
    waiting = [m for m in need if m not in placer.at]
    second = given.datum.towards if given.datum.kind is DatumKind.MINIMAL else ""
    if not waiting or (len(placer.at) >= 2 and second not in waiting):
        return
    if given.datum.kind is DatumKind.FIXED and any(placer.place(m) for m in waiting):
        return  # by a bearing
    first = given.datum.at or next(iter(placer.at), need[0])
    x, y = placer.at.setdefault(first, (0.0, 0.0))
    for r, value, _ in placer.readings:
        if r.kind in CIRCLES and first in r.marks:
            other = r.marks[1] if r.marks[0] == first else r.marks[0]
            if other not in placer.at and other == (second or other):
                placer.at[other] = (x + placer.level(first, other, r.kind, float(value)), y)
                return
    if len(placer.at) < 2:
        raise NoSolutionError(
            f"no distance was read between {first} and {second or 'another mark'}",
            code="SU022",
            where="datum",
            hint="Measure it, or give the rough place of both",
        )
