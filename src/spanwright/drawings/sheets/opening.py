"""The cut pattern of the board: the sheet laid on the rails, and its mirror image for the underside.

The pattern's x runs along the chord of the opening, so that it tiles well. The underside sheet is the top
sheet mirrored about the upright through the middle between the two pilot holes.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np

from spanwright.drawings.display import Circle, Item, Path, Point, Role, Sheet, path
from spanwright.drawings.draughting import Draught
from spanwright.drawings.fonts import width
from spanwright.drawings.sheets.board.tables import CAUTION, said_start, table_sheets
from spanwright.drawings.speech import Speech
from spanwright.parts.board.ordinates import Pilot
from spanwright.parts.opening import Opening

FloatArray = np.ndarray

TOP, UNDERSIDE = "pattern/opening top", "pattern/opening underside"
TOP_TITLE = "Cut pattern of the board, top"
UNDERSIDE_TITLE = "Cut pattern of the board, underside"

_SMALL = 2.2
_NAME = 2.8
_GREY = 0.88
_HIGH, _LOW = 0.76, 0.22  # of its size, how far a text reaches above and below its base line


class _View:
    """From the layout to the sheet: turned along the chord of the opening, mirrored for the underside."""

    def __init__(self, opening: Opening, *, is_mirrored: bool = False) -> None:
        corners = opening.outline.corners.value
        n = len(opening.outline.supports)
        start, end = 0.5 * (corners[0] + corners[-1]), 0.5 * (corners[n - 1] + corners[n])
        chord = end - start
        self.origin = start
        self.along = chord / np.hypot(*chord)
        self.about: float | None = None
        if is_mirrored:
            self.about = float(np.mean([self.of(_plan(p))[0] for p in opening.pilots]))

    def of(self, point: FloatArray) -> Point:
        """Return a plan point on the sheet."""
        gap = point - self.origin
        x = float(gap @ self.along)
        y = float(gap[1] * self.along[0] - gap[0] * self.along[1])
        return (x if self.about is None else 2.0 * self.about - x, y)

    def all(self, points: FloatArray) -> tuple[Point, ...]:
        """Return plan points on the sheet."""
        return tuple(self.of(p) for p in points)


def _plan(p: Pilot) -> FloatArray:
    return np.array([float(p.x.value), float(p.y.value)])


def opening_sheets(opening: Opening, say: Speech) -> tuple[Sheet, ...]:
    """Draw the patterns and tables that the board is opened by.

    Parameters
    ----------
    opening : Opening
        The opening.
    say : Speech
        The builder's words.

    Returns
    -------
    tuple of Sheet
        Top, underside (not without two pilot holes), and one ordinate sheet or more.
    """
    patterns = [_top(opening, say)]
    if len(opening.pilots) == 2:
        patterns.append(_underside(opening, say))
    return (*patterns, *table_sheets(opening, say))


# ---------------------------------------------------------------- patterns


def _top(opening: Opening, say: Speech) -> Sheet:
    view, draught = _View(opening), Draught()
    track = opening.track
    draught.add(Path(points=view.all(s), role=Role.OUTLINE, closed=True, fill=_GREY) for s in track.slots)
    draught.add(_tie_ends(opening, view))
    draught.add([path(view.all(track.centre), Role.CENTRE)])
    draught.add(path(view.all(t.points), Role.OUTLINE) for t in track.ticks)
    draught.add(_lines(opening, view))
    draught.add(_holes(opening, view))
    draught.add(_things(opening, view, Role.HIDDEN))
    _fences(opening, view, draught)
    _tick_names(opening, view, draught)
    rim = _Rim([*track.slots, opening.outline.corners.value, *(t.ring for t in opening.obstructions)], view)
    _words(opening, say, (view, rim), draught)
    twin = UNDERSIDE_TITLE if len(opening.pilots) == 2 else ""
    return Sheet(
        id=TOP,
        title=TOP_TITLE,
        items=draught.items,
        side_up="printed side up, laid on the ties",
        twin=twin,
        notes=_top_notes(opening, say),
    )


def _underside(opening: Opening, say: Speech) -> Sheet:
    view, draught = _View(opening, is_mirrored=True), Draught()
    draught.add(_lines(opening, view))
    draught.add(_holes(opening, view))
    draught.add(_things(opening, view, Role.OUTLINE))
    _fences(opening, view, draught)
    rim = _Rim([opening.outline.corners.value, *(t.ring for t in opening.obstructions)], view)
    _words(opening, say, (view, rim), draught)
    return Sheet(
        id=UNDERSIDE,
        title=UNDERSIDE_TITLE,
        items=draught.items,
        side_up="printed side towards you, held to the underside of the board",
        twin=TOP_TITLE,
        notes=(
            "Push a pin through each pilot hole from above and bring the two holes of this sheet over the "
            "pins: it is keyed when both match. It is the mirror image of the top sheet.",
            "The blade leans: below, the cut may come out up to "
            f"{say.plain(float(opening.allowance.lean.value))} to either side of the full line. Trim to the "
            "dashed line from above, where the rails are.",
            *CAUTION,
        ),
    )


def _top_notes(opening: Opening, say: Speech) -> tuple[str, ...]:
    a = opening.allowance
    marks = ", ".join(dict.fromkeys(t.name for t in opening.track.ticks))
    lay = (
        "Cut the two grey slots out of the paper, with tape across them to hold the middle strip, and let "
        "the rails come through. "
    )
    if marks:
        lay += f"Slide the sheet until the ticks meet the pencil marks {marks}. "
    if opening.track.ties:
        lay += (
            "The tie ends must show evenly on both sides; where ties stand along the track is not surveyed. "
        )
    notes = [lay + "Then tape it down and measure the distances of the ordinate sheet before you saw."]
    if opening.pilots:
        notes.append("Drill the pilot holes square through the board: they key the sheet for the underside.")
    lean, total = (say.plain(float(part.value)) for part in (a.lean, a.total))
    notes.append(
        "Saw along the full line, the middle of the blade on the middle of the line. It lies "
        f"{total} inside the finished line: {lean} for the lean of the blade over "
        f"{say.with_unit(opening.thickness)} of board, {say.plain(a.kerf)} for half the saw cut, "
        f"{say.plain(a.doubt)} for {opening.k:g} times the doubt of setting out. "
        "Trim what is left back to the dashed line when the line has been measured again."
    )
    return (*notes, *CAUTION)


def _lines(opening: Opening, view: _View) -> Iterable[Item]:
    for runs, role in ((opening.trimmed, Role.REFERENCE), (opening.sawn, Role.CUT)):
        for run, is_closed in runs:
            yield path(view.all(run), role, closed=is_closed)
    for edge in opening.track.edges:
        yield path(view.all(edge), Role.OUTLINE)


def _holes(opening: Opening, view: _View) -> Iterable[Item]:
    for hole in opening.pilots:
        x, y = view.of(_plan(hole))
        r = 0.5 * hole.drill
        yield Circle(centre=(x, y), radius=r, role=Role.CUT)
        far = r + 1.6
        yield path([(x - far, y), (x + far, y)], Role.DIMENSION)
        yield path([(x, y - far), (x, y + far)], Role.DIMENSION)


def _things(opening: Opening, view: _View, role: Role) -> Iterable[Item]:
    for thing in opening.obstructions:
        yield path(view.all(thing.ring), role, closed=True)


def _tie_ends(opening: Opening, view: _View) -> Iterable[Item]:
    """Draw what of each tie shows beside the slots; between them is the centre line."""
    for tie in opening.track.ties:
        length = float(np.hypot(*(tie[3] - tie[0])))
        # of the tie's length, from its end to the slot
        share = max(0.5 - 0.5 * (_apart(opening) + opening.given.slot) / length, 0.0)
        for near, beside, far in ((0, 1, 3), (3, 2, 0)):
            back = (tie[far] - tie[near]) * share
            corners = [tie[near] + back, tie[near], tie[beside], tie[beside] + back]
            yield path(view.all(np.array(corners)), Role.FINE)


def _apart(opening: Opening) -> float:
    """Return the distance of the two rails' middles."""
    left, right = opening.track.rails
    return float(np.hypot(*(left[0] - right[0])))


def _outward(opening: Opening, view: _View, point: FloatArray, side: str) -> tuple[FloatArray, float]:
    """Return the unit vector on the sheet away from the track at a plan point, and the track's direction."""
    centre = opening.track.centre
    k = int(np.clip(np.argmin(np.sum((centre - point) ** 2, axis=1)), 1, len(centre) - 2))
    a, b = np.array(view.of(centre[k - 1])), np.array(view.of(centre[k + 1]))
    ahead = (b - a) / np.hypot(*(b - a))
    left = np.array([-ahead[1], ahead[0]]) * (1.0 if view.about is None else -1.0)
    return left * (1.0 if side == "left" else -1.0), float(np.arctan2(ahead[1], ahead[0]))


def _fences(opening: Opening, view: _View, draught: Draught) -> None:
    """Keep texts off the lines that are cut, and off the pilot holes."""
    for run, is_closed in (*opening.trimmed, *opening.sawn):
        points = np.array(view.all(np.vstack([run, run[:1]]) if is_closed else run))
        for a, b in pairwise(points):
            out = np.array([a[1] - b[1], b[0] - a[0]]) / np.hypot(*(b - a)) * 0.2
            draught.keep_clear([_plain(a + out), _plain(b + out), _plain(b - out), _plain(a - out)])
    for hole in opening.pilots:
        x, y = view.of(_plan(hole))
        r = 0.5 * hole.drill + 1.6
        draught.keep_clear([(x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)])


def _tick_names(opening: Opening, view: _View, draught: Draught) -> None:
    """Write each mark's name beside its tick, along the track, beyond slot and tie end."""
    tie = 0.5 * opening.given.ties.length if opening.given.ties else 0.0
    far = max(tie - 0.5 * _apart(opening), 0.5 * opening.given.slot + 1.2) + 0.8
    for tick in opening.track.ticks:
        out, turn = _outward(opening, view, tick.points[1], tick.side)
        middle = np.array(view.of(0.5 * (tick.points[0] + tick.points[1])))
        ahead = np.array([np.cos(turn), np.sin(turn)])
        drop = _LOW if tick.side == "left" else _HIGH
        at = middle + out * (far + drop * draught.size) + ahead * 0.8
        draught.label(tick.name, _plain(at), away=_plain(ahead), anchor="start", turn=turn, bold=True)


def _plain(p: FloatArray) -> Point:
    return (float(p[0]), float(p[1]))


class _Rim:
    """The outer rim of what is drawn, so that texts can be set clear of it."""

    def __init__(self, rings: Iterable[FloatArray], view: _View) -> None:
        points = []
        for ring in rings:
            on_sheet = np.array(view.all(ring))
            for a, b in zip(on_sheet, np.roll(on_sheet, -1, axis=0), strict=True):
                count = max(2, int(np.hypot(*(b - a))))
                points.append(a + (b - a) * np.linspace(0.0, 1.0, count)[:, None])
        self.points = np.concatenate(points)

    def beyond(self, low: float, high: float, up: float) -> float:
        """Return the rim's furthest y, up or down, between two x; infinite if nothing is there."""
        x, y = self.points.T
        y = y[(x > low - 1.0) & (x < high + 1.0)]
        return float(np.max(up * y, initial=-np.inf)) * up

    def call(self, draught: Draught, tip: Point, text: str, up: float) -> None:
        """Point at something from outside the rim, from that side which takes the shorter leader."""
        wide = width(text, _SMALL)
        choices = []
        for reach in (3.0, -3.0):
            near = tip[0] + reach * 1.4
            ends = (near, near + wide) if reach > 0.0 else (near - wide, near)
            y = self.beyond(*ends, up)
            y = max(up * tip[1] + 4.0, up * y + 2.2 if np.isfinite(y) else -np.inf)
            choices.append((y, -reach))
        y, reach = min(choices)
        draught.leader(tip, (tip[0] - reach, up * y), text, size=_SMALL)


def _words(opening: Opening, say: Speech, place: tuple[_View, _Rim], draught: Draught) -> None:
    """Write what both patterns say: sides, ends, corners, pilots, obstructions and the two lines."""
    view, rim = place
    corners = np.array(view.all(opening.outline.corners.value))
    n = len(opening.outline.supports)
    sides = {"left": corners[:n], "right": corners[n:][::-1]}
    holes = {
        side: [view.of(_plan(p))[0] for p in opening.pilots if p.side == side] for side in ("left", "right")
    }
    for side, run in sides.items():
        _side_name(run, say.side(side), holes[side], draught, up=1.0 if side == "left" else -1.0)
    _end_words(opening, say, view, draught)
    # leaders of pilot holes leave the board on one side, so the other names go to the other
    free = "left" if len(holes["left"]) <= len(holes["right"]) else "right"
    up = 1.0 if free == "left" else -1.0
    for name, corner in zip(opening.outline.supports[1:-1], sides[free][1:-1], strict=True):
        rim.call(draught, _plain(corner), name, up)
    for check in opening.checks:
        end, _, side = check.start.partition(" ")
        if end in ("start", "finish"):
            corner = sides[side][0 if end == "start" else -1]
            rim.call(draught, _plain(corner), said_start(check, say), 1.0 if side == "left" else -1.0)
    total = say.plain(float(opening.allowance.total.value))
    lines = f"dashed: finished line, trim back to here; full: saw line, {total} inside"
    _line_names(sides[free], lines, rim, draught, up=up)
    for hole in opening.pilots:
        text = (
            f"pilot hole {say.plain(hole.drill)}, {_by_rule(hole.distance, say)} off the outer face of the "
            f"{say.side(hole.side)} rail, square, at {hole.mark}"
        )
        rim.call(draught, view.of(_plan(hole)), text, 1.0 if hole.side == "left" else -1.0)
    for thing in opening.obstructions:
        left = thing.given.across[0] + thing.given.across[1] >= 0.0
        ring = np.array(view.all(thing.ring))
        tip = ring[np.argmax(ring[:, 1]) if left else np.argmin(ring[:, 1])]
        rim.call(draught, _plain(tip), f"{thing.given.name}, under the board", 1.0 if left else -1.0)


def _by_rule(value: float, say: Speech) -> str:
    """Say a length that is set off by rule: in inches as a fraction too."""
    return say.cut(value) if say.unit == "in" else say.plain(value)


def _side_name(run: FloatArray, word: str, holes: list[float], draught: Draught, *, up: float) -> None:
    """Name a side outside one of its straight cuts, away from the leaders of its pilot holes."""
    edges = list(pairwise(run))
    a, b = max(edges, key=lambda e: min((abs(0.5 * (e[0][0] + e[1][0]) - x) for x in holes), default=0.0))
    way = (b - a) / np.hypot(*(b - a))
    turn = float(np.arctan2(way[1], way[0]))
    if abs(turn) > 0.5 * np.pi:  # mirrored: the run goes to the left, words do not
        turn -= float(np.copysign(np.pi, turn))
    off = 1.5 + (_LOW if up > 0.0 else _HIGH) * _NAME
    at = 0.5 * (a + b) + np.array([-np.sin(turn), np.cos(turn)]) * off * up
    draught.label(f"{word} side", _plain(at), away=(0.0, up), turn=turn, bold=True, size=_NAME)


def _line_names(run: FloatArray, text: str, rim: _Rim, draught: Draught, *, up: float) -> None:
    """Say which line is the finished edge and which is sawn."""
    share = 0.65 if len(run) > 2 else 0.18  # a single cut has the side's name in its middle
    rim.call(draught, _plain(run[-2] + (run[-1] - run[-2]) * share), text, up)


def _end_words(opening: Opening, say: Speech, view: _View, draught: Draught) -> None:
    """Write beside the track where each of its ends leads."""
    centre = opening.track.centre
    corners = opening.outline.corners.value
    n = len(opening.outline.supports)
    half = 0.5 * (_apart(opening) + opening.given.slot)
    beside = max(0.5 * opening.given.ties.length if opening.given.ties else 0.0, half) + 4.5
    for word, tip, cut, sign in (
        (say.words.start, centre[0], 0.5 * (corners[0] + corners[-1]), -1.0),
        (say.words.finish, centre[-1], 0.5 * (corners[n - 1] + corners[n]), 1.0),
    ):
        out, turn = _outward(opening, view, cut, "left")
        way = np.array([np.cos(turn), np.sin(turn)]) * sign
        if abs(turn) > 0.5 * np.pi:
            turn -= float(np.copysign(np.pi, turn))
        foot = np.array(view.of(cut))
        far = float((np.array(view.of(tip)) - foot) @ way)
        wanted = width(f"to {word}", _NAME, bold=True) + 3.0
        up = out if out[1] > 0.0 else -out
        base = foot + way * 3.0 + up * beside
        stop = base + way * max(far - 6.0, wanted)
        draught.add([path([base, stop], Role.DIMENSION), _head(stop, way)])
        at = 0.5 * (base + stop) + up * (0.6 + _LOW * _NAME)
        draught.label(f"to {word}", _plain(at), away=_plain(up), turn=turn, bold=True, size=_NAME)


def _head(tip: FloatArray, way: FloatArray) -> Path:
    side = np.array([-way[1], way[0]]) * 0.5
    return path([tip, tip - way * 2.2 + side, tip - way * 2.2 - side], Role.DIMENSION, closed=True, fill=0.0)
