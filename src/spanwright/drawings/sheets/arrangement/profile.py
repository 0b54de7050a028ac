"""Railheads of both lines against the way along them, heights drawn larger than lengths.

Both lines are set side by side at the crossing: x is the way along each line from there. Beneath stand
the stations of both, and for each laid line how its marks' heights lie to the fitted profile, drawn
larger again. Read :func:`profile_sheet`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from spanwright.alignment.crossing import rail_height
from spanwright.alignment.given import LineInput
from spanwright.alignment.line import track_point
from spanwright.alignment.stage import Alignments, LaidLine, mark_offset
from spanwright.drawings.display import Circle, Path, Role, Sheet, box, path
from spanwright.drawings.draughting import Draught, bounds
from spanwright.drawings.sheets.arrangement.silhouette import largest
from spanwright.drawings.sheets.arrangement.views import bridged
from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.structures.stage import Structures
from spanwright.survey.stage import AdjustedSurvey
from spanwright.units import format_mm

FloatArray = np.ndarray

SIZE = 2.2
#: How far a line is shown beyond its survey, dashed. [mm]
BEYOND = 60.0
#: How much larger than lengths heights may be drawn. [1]
TALLER = (20.0, 10.0, 5.0, 4.0, 3.0, 2.0, 1.0)
#: Most height of the main picture on paper. [mm]
TALL = 50.0
#: How much larger than life residuals may be drawn. [1]
LARGER = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0)
_STRIP = 7.0  # half height of a strip of residuals on paper
_ROW = 3.2
_SHADE = 0.93
#: Ticks along, and up, by the unit that lengths are shown in. [mm]
_TICKS = {"mm": (100.0, 10.0), "in": (127.0, 12.7)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProfileView:
    """How stations and heights come onto the sheet.

    Parameters
    ----------
    stations : dict
        Station of the crossing by line; set at x = 0. [mm]
    scale : float
        Drawn size over model size, along. [1]
    taller : float
        How much larger heights are drawn than lengths. [1]
    """

    stations: dict[str, float]
    scale: float
    taller: float

    def paper(self, line: str, stations: FloatArray, heights: FloatArray) -> FloatArray:
        """Return places on paper.

        Parameters
        ----------
        line : str
            The line's name.
        stations : ndarray, shape (n,)
            On the line. [mm]
        heights : ndarray, shape (n,)
            Above the datum. [mm]

        Returns
        -------
        ndarray, shape (n, 2)
            Places on paper; y = 0 is the datum. [mm]
        """
        along = (np.asarray(stations, dtype=float) - self.stations[line]) * self.scale
        return np.column_stack([along, np.asarray(heights, dtype=float) * self.scale * self.taller])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeightOfMark:
    """How a mark's height lies to the fitted line.

    Parameters
    ----------
    name : str
        The mark.
    station : float
        On its line. [mm]
    above : float
        The mark above the fitted height of its rail. [mm]
    height : Derived
        The mark's adjusted height.
    centre : float
        Height of the track's centre that the mark stands for. [mm]
    """

    name: str
    station: float
    above: float
    height: Derived
    centre: float


def profile_view(alignments: Alignments, bridge: Structures, scale: float) -> ProfileView:
    """Return how the profile is set on its sheet.

    Parameters
    ----------
    alignments : Alignments
        The lines.
    bridge : Structures
        The fitted bridge.
    scale : float
        Drawn size over model size, along. [1]

    Returns
    -------
    ProfileView
        The crossing at x = 0; heights as much larger as leaves the picture low enough.
    """
    crossing = bridged(alignments, bridge)
    stations = {
        crossing.upper: float(crossing.centre.upper_station.value),
        crossing.lower: float(crossing.centre.lower_station.value),
    }
    heights = np.concatenate(
        [track_point(alignments.line(n), _stretch(alignments, n)).z.value for n in stations]
    )
    room = [t for t in TALLER if np.ptp(heights) * scale * t <= TALL]
    return ProfileView(stations=stations, scale=scale, taller=room[0] if room else 1.0)


def _stretch(alignments: Alignments, name: str) -> FloatArray:
    low, high = alignments.line(name).surveyed
    return np.linspace(low - BEYOND, high + BEYOND, 241)


def marks_of(
    given: LineInput, laid: LaidLine, survey: AdjustedSurvey, inputs: Inputs
) -> tuple[HeightOfMark, ...]:
    """Return how the heights of a line's marks lie to its fitted profile.

    Parameters
    ----------
    given : LineInput
        The line as given: gauge and width of its rail heads.
    laid : LaidLine
        The line as found.
    survey : AdjustedSurvey
        The adjusted marks.
    inputs : Inputs
        The base inputs.

    Returns
    -------
    tuple of HeightOfMark
        In station order; marks without a height are left out. Empty for a designed line.
    """
    if laid.stations is None:
        return ()
    known = {m.name: m for m in survey.marks}
    gauge, head = size(inputs, given.gauge), size(inputs, given.rail_head)
    found = []
    for k, name in enumerate(laid.mark_names):
        if not survey.has(f"{name}.z"):
            continue
        height = survey.value(f"{name}.z")
        station = float(laid.stations.value[k])
        track = track_point(laid.line, np.array([station]))
        lever = float(mark_offset(known[name], gauge, head).value) / float(laid.line.head_distance.value)
        above = float(height.value) - float(rail_height(track, lever).value[0])
        centre = float(track.z.value[0]) + above
        found.append(HeightOfMark(name=name, station=station, above=above, height=height, centre=centre))
    return tuple(found)


def profile_sheet(
    lines: tuple[LineInput, ...],
    survey: AdjustedSurvey,
    alignments: Alignments,
    bridge: Structures,
    say: Speech,
) -> Sheet:
    """Draw the heights of both lines against the way along them.

    Parameters
    ----------
    lines : tuple of LineInput
        The lines as given.
    survey : AdjustedSurvey
        The marks.
    alignments : Alignments
        The lines.
    bridge : Structures
        The fitted bridge.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    Sheet
        ``arrangement/profile``; x = 0 at the crossing, y = 0 at the height datum.
    """
    return largest(lambda scale: _sheet(_Picture(lines, survey, alignments, bridge, say, scale=scale)))


class _Picture:
    """What every part of the drawing needs."""

    def __init__(
        self,
        lines: tuple[LineInput, ...],
        survey: AdjustedSurvey,
        alignments: Alignments,
        bridge: Structures,
        say: Speech,
        *,
        scale: float,
    ) -> None:
        self.alignments, self.bridge, self.say, self.scale = alignments, bridge, say, scale
        self.view = profile_view(alignments, bridge, scale)
        self.draught = Draught(SIZE)
        self.crossing = bridged(alignments, bridge)
        self.names = (self.crossing.upper, self.crossing.lower)
        self.laid = {laid.line.name: laid for laid in alignments.lines}
        given = {line.name: line for line in lines}
        self.marks = {
            name: marks_of(given[name], self.laid[name], survey, alignments.inputs) for name in self.names
        }
        runs = [self.run(name, _stretch(alignments, name)) for name in self.names]
        every = np.concatenate(runs)
        self.left, self.right = float(every[:, 0].min()), float(every[:, 0].max())
        self.low, self.high = float(every[:, 1].min()), float(every[:, 1].max())

    def run(self, name: str, stations: FloatArray) -> FloatArray:
        """Return a line's railhead on paper."""
        heights = track_point(self.laid[name].line, stations).z.value
        return self.view.paper(name, stations, heights)

    def x(self, name: str, station: float) -> float:
        """Return the place of a station on paper."""
        return float(self.view.paper(name, np.array([station]), np.zeros(1))[0, 0])


def _sheet(p: _Picture) -> Sheet:
    say = p.say
    _shade(p)
    _scale_of_heights(p)
    _railheads(p)
    _grades(p)
    _separation(p)
    larger = _strips(p)
    _stations(p)
    strips: tuple[str, ...] = (
        f"Strips: each mark's height above the fitted railhead, drawn {larger:g} times its size, with the"
        " give or take of the mark's height; grey is the give or take of the fitted railhead itself.",
    )
    if not any(p.marks.values()):
        strips = ()
    unit = "inches" if say.unit == "in" else "mm"
    times = "as large as" if p.view.taller == 1.0 else f"{p.view.taller:g} times as large as"
    return Sheet(
        id="arrangement/profile",
        title="Profile of both lines",
        items=p.draught.items,
        true=False,
        scale=p.scale,
        notes=(
            f"Heights are drawn {times} lengths; heights of the railhead at the track's centre, in {unit}"
            " above the datum; both lines are set side by side at the crossing.",
            "Grey: the bridge, its supports ticked. Dashed: beyond the survey, where the line is taken to run"
            f" on straight. A grade is rising towards {say.words.finish}.",
            *strips,
        ),
    )


def _shade(p: _Picture) -> None:
    upper = p.names[0]
    a, b = (p.x(upper, p.bridge.supports[k].station) for k in (0, -1))
    area = replace(box((a, p.low - 6.0), (b, p.high + 6.0), fill=_SHADE), stroked=False)
    p.draught.add([area])
    p.draught.label("bridge", (0.5 * (a + b), p.high + 7.0), bold=True)
    for support in p.bridge.supports:
        x, y = p.run(upper, np.array([support.station]))[0]
        p.draught.add([Path(points=((float(x), float(y) - 4.0), (float(x), float(y))), role=Role.FINE)])


def _scale_of_heights(p: _Picture) -> None:
    """Rule the heights to the left of the picture."""
    tick = _TICKS[p.say.unit][1]
    per = p.scale * p.view.taller
    while tick * per < 4.0:
        tick *= 2.0
    x = p.left - 6.0
    first, last = np.floor((p.low - 3.0) / per / tick), np.ceil((p.high + 3.0) / per / tick)
    p.draught.add([Path(points=((x, first * tick * per), (x, last * tick * per)), role=Role.OUTLINE)])
    for k in range(int(first), int(last) + 1):
        y = k * tick * per
        p.draught.add([Path(points=((x - 1.2, y), (x, y)), role=Role.OUTLINE)])
        decimals = 0 if p.say.unit == "mm" else -1
        text = p.say.bare(k * tick, decimals)
        p.draught.label(text, (x - 2.0, y - 0.35 * SIZE), anchor="end", away=(-1.0, 0.0))
    p.draught.label("height", (x, last * tick * per + 2.0), away=(0.0, 1.0))


def _railheads(p: _Picture) -> None:
    """Draw both lines, dashed beyond their survey, and where they lead."""
    say, d = p.say, p.draught
    for name in p.names:
        low, high = p.laid[name].line.surveyed
        for a, b, role in (
            (low - BEYOND, low, Role.REFERENCE),
            (low, high, Role.OUTLINE),
            (high, high + BEYOND, Role.REFERENCE),
        ):
            d.add([path(p.run(name, np.linspace(a, b, 121)), role)])
        ends = p.run(name, np.array([low - BEYOND, high + BEYOND]))
        for mark in p.marks[name]:
            x, y = p.view.paper(name, np.array([mark.station]), np.array([mark.centre]))[0]
            d.add([Circle(centre=(float(x), float(y)), radius=0.5, fill=1.0)])
        reach = 24.0 / p.scale - BEYOND  # a text reaches over the line as far as this
        for end, inner, anchor, word in (
            (ends[0], low + reach, "start", say.words.start),
            (ends[1], high - reach, "end", say.words.finish),
        ):
            place = (float(end[0]), float(max(end[1], p.run(name, np.array([inner]))[0, 1])) + 1.6)
            d.label(f"{name}, to {word}", place, anchor=anchor, away=(0.0, 1.0))


def _grades(p: _Picture) -> None:
    """Write the grade along each line, a few times."""
    say, d = p.say, p.draught
    for name in p.names:
        line = p.laid[name].line
        low, high = line.surveyed
        count = max(1, int((high - low) * p.scale / 38.0))
        stations = low + (high - low) * (np.arange(count) + 0.5) / count
        grades = track_point(line, stations).grade
        for s, k in zip(stations, range(count), strict=True):
            at = p.run(name, np.array([s]))[0]
            if abs(at[0]) < 14.0:  # the separation stands there
                at = p.run(name, np.array([s + np.copysign(16.0 - abs(at[0]), at[0]) / p.scale]))[0]
            wide = say.k * say.doubt(grades[k])
            text = format_mm(100.0 * float(grades[k].value), 100.0 * wide).removesuffix(" mm") + " %"
            slope = np.arctan(float(grades[k].value) * p.view.taller)
            below = name == p.names[1]
            off = -1.0 - SIZE if below else 1.4
            place = (float(at[0] - off * np.sin(slope)), float(at[1] + off * np.cos(slope)))
            away = (0.0, -1.0) if below else (0.0, 1.0)
            d.label(text, place, turn=float(slope), away=away)


def _separation(p: _Picture) -> None:
    """Mark the crossing and the height of one railhead above the other."""
    say, d = p.say, p.draught
    d.add([Path(points=((0.0, p.low - 8.0), (0.0, p.high + 6.0)), role=Role.CENTRE)])
    stations = [p.view.stations[name] for name in p.names]
    places = [p.run(name, np.array([s]))[0] for name, s in zip(p.names, stations, strict=True)]
    (_, high), (_, low) = ((float(x), float(y)) for x, y in places)
    supports = [p.x(p.names[0], s.station) for s in p.bridge.supports]
    at = next(x for x in (5.0, 8.0, 11.0, 14.0) if x == 14.0 or all(abs(x - s) > 1.5 for s in supports))
    d.upright_dimension((0.0, low), (0.0, high), say.of(p.crossing.centre.separation), at=at)
    for name, station, y, shift in zip(p.names, stations, (high, low), (2.0, -2.0 - SIZE), strict=True):
        z = track_point(p.laid[name].line, np.array([station])).z[0]
        d.label(say.of(z), (-1.5, y + shift), anchor="end", away=(0.0, float(np.sign(shift))))
    d.label("crossing", (0.0, p.low - 11.0), away=(0.0, -1.0), bold=True)


def _strips(p: _Picture) -> float:
    """Draw the marks' heights above the fitted railhead, larger; return how much larger."""
    say, d = p.say, p.draught
    reach = [abs(m.above) + say.k * say.doubt(m.height) for marks in p.marks.values() for m in marks]
    fitting = [f for f in LARGER if f * max(reach, default=1.0) <= _STRIP]
    larger = fitting[0] if fitting else LARGER[-1]
    middle = p.low - 22.0
    for name in p.names:
        if not p.marks[name]:
            continue
        line = p.laid[name].line
        s = np.linspace(*line.surveyed, 81)
        band = say.k * track_point(line, s).z.sd(say.inputs.spread) * larger
        x = p.view.paper(name, s, np.zeros(len(s)))[:, 0]
        corners = np.concatenate(
            [np.column_stack([x, middle + band]), np.column_stack([x, middle - band])[::-1]]
        )
        d.add([replace(path(corners, Role.FINE, closed=True, fill=0.85), stroked=False)])
        d.add([Path(points=((float(x[0]), middle), (float(x[-1]), middle)), role=Role.OUTLINE)])
        d.label(f"marks of {name}", (p.left - 2.0, middle - 0.35 * SIZE), anchor="end", away=(-1.0, 0.0))
        for mark in p.marks[name]:
            at, y = p.x(name, mark.station), middle + larger * mark.above
            half = larger * say.k * say.doubt(mark.height)
            bars = [((at, y - half), (at, y + half))]
            bars += [((at - 0.6, y + e), (at + 0.6, y + e)) for e in (-half, half)]
            d.add(Path(points=bar, role=Role.FINE) for bar in bars)
            d.add([Circle(centre=(at, y), radius=0.5, fill=0.0)])
            d.label(mark.name, (at, middle - _STRIP - 2.2), away=(0.0, -1.0), size=1.8)
        middle -= 2.0 * _STRIP + 8.0
    return larger


def _stations(p: _Picture) -> None:
    """Rule the stations of both lines beneath."""
    d = p.draught
    tick = _TICKS[p.say.unit][0]
    while tick * p.scale < 9.0:
        tick *= 2.0
    y = bounds(d.items)[1] - 4.0
    for name in p.names:
        low, high = p.laid[name].line.surveyed
        first, last = int(np.ceil((low - 0.5) / tick)), int(np.floor((high + 0.5) / tick))
        d.add([Path(points=((p.x(name, low), y), (p.x(name, high), y)), role=Role.OUTLINE)])
        for k in range(first, last + 1):
            x = p.x(name, k * tick)
            d.add([Path(points=((x, y), (x, y - 1.2)), role=Role.OUTLINE)])
            text = p.say.bare(k * tick, 0 if p.say.unit == "mm" else -2)
            d.label(text, (x, y - 1.8 - SIZE), away=(0.0, -1.0))
        d.label(f"along {name}", (p.left - 2.0, y - 2.2), anchor="end", away=(-1.0, 0.0))
        y -= 8.0
