"""Blank as-built sheets as data: what to measure when a part stands, from where, with what, how near.

Nobody can measure to a datum or a centre line: heights are taken from the surface that the support is
glued to, sideways from a rail's inner face. Each row names the plan's number that the reading speaks of.
Read :func:`list_readings`.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.alignment.given import LineInput
from spanwright.build.telling import Filling, Told, place, told, word
from spanwright.estimation.derived import Derived, constant
from spanwright.estimation.inputs import Inputs, size
from spanwright.parts.given import PartsInput
from spanwright.parts.pieces import made_last
from spanwright.structures.given import CapForm, StructuresInput, SupportKind
from spanwright.structures.heights import Bearing
from spanwright.structures.numbers import FittedSpan
from spanwright.structures.stage import Structures
from spanwright.structures.supports import Cut, FittedSupport

CALIPER, DEPTH, RULE = "caliper", "depth rod", "steel rule"
STRAIGHT = "straightedge and feelers"
ENTER = "The plan is no longer true here: reckon anew before anything is cut."
PACK = "Change the packing until it is within."


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AsBuilt:
    """One row of an as-built sheet; reading and date are left blank on paper.

    Parameters
    ----------
    id : str
        Stable id of the reading.
    number : str
        Id of the plan's number, or base input, that it speaks of.
    belongs : str
        Span or support.
    what : Told
        What to measure.
    surface : Told
        From which surface.
    tool : str
        With what.
    planned : Derived
        What should come out.
    low : float or None
        Passes from here; None without a lower limit. [mm]
    high : float or None
        Passes up to here; None without an upper limit. [mm]
    otherwise : str
        What to do if it does not pass.
    """

    id: str
    number: str
    belongs: str
    what: Told
    surface: Told
    tool: str
    planned: Derived
    low: float | None
    high: float | None
    otherwise: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Given:
    bridge: StructuresInput
    parts: PartsInput
    inputs: Inputs
    structures: Structures
    lower: LineInput | None

    def within(self, planned: Derived, by: float) -> tuple[float, float]:
        """Return limits to both sides, left open to the last digit."""
        value = float(planned.value)
        return value - by, value + by

    def assumed(self, planned: Derived, keys: tuple[str, ...]) -> tuple[float, float]:
        """Return limits within which a thing is as true as the plan took it to be: k times its own doubt."""
        own = sum(self.inputs[key].sd ** 2 for key in keys) ** 0.5
        return self.within(planned, self.bridge.k * own)


def base_of(fitted: FittedSupport, side: str) -> tuple[Cut, str]:
    """Return the shaft or column under a bearing, and the mark on the surface that it is glued to.

    Parameters
    ----------
    fitted : FittedSupport
        The support.
    side : str
        Side of the bearing.

    Returns
    -------
    cut : Cut
        The shaft, or the column on that side.
    mark : str
        Name of the mark.
    """
    number = 1 if side == "right" and len(fitted.cuts) == 2 else 0
    marks = fitted.given.bases
    return fitted.cuts[number], marks[min(number, len(marks) - 1)]


def frames_in(fitted: FittedSupport) -> bool:
    """Tell whether girders frame into the cap instead of standing on it.

    Parameters
    ----------
    fitted : FittedSupport
        The support.

    Returns
    -------
    bool
        True for a bent whose cap is level with the girders.
    """
    return fitted.given.kind is SupportKind.STRADDLE_BENT and fitted.given.form is CapForm.LEVEL


def list_readings(
    given: StructuresInput,
    parts: PartsInput,
    inputs: Inputs,
    structures: Structures,
    lower: LineInput | None = None,
) -> tuple[AsBuilt, ...]:
    """List every row of the as-built sheets.

    Parameters
    ----------
    given : StructuresInput
        Spans, supports, layers.
    parts : PartsInput
        Board, units, tolerance.
    inputs : Inputs
        The base inputs.
    structures : Structures
        The fitted bridge.
    lower : LineInput or None
        The line that is crossed, for its gauge; without it columns are measured from the track's centre.

    Returns
    -------
    tuple of AsBuilt
        Before cutting, then support by support, then span by span, then the board's edge.
    """
    all_ = _Given(bridge=given, parts=parts, inputs=inputs, structures=structures, lower=lower)
    last = made_last(given, parts)
    rows = [
        _opened(all_, fitted, cut, k) for fitted in structures.supports for k, cut in enumerate(fitted.cuts)
    ]
    for fitted in structures.supports:
        mine = [b for b in structures.bearings if b.support == fitted.given.name]
        if fitted.given.name in last:
            rows += [_gap(all_, fitted, b) for b in mine]
        rows += [_shaft(all_, fitted, cut, mine) for cut in fitted.cuts]
        rows += [_cap(all_, fitted, cut, mine) for cut in fitted.cuts]
        rows += _columns(all_, fitted)
        rows += [_seat(all_, fitted, b) for b in mine if not frames_in(fitted)]
        rows += [_girder_top(all_, fitted, b) for b in mine]
        rows += [_railhead(all_, fitted, b) for b in _one_span(mine)]
    for span in structures.spans:
        rows += [_spacing(all_, span), _mid_span(all_, span)]
        if parts.subroadbed:
            rows += [_edge(all_, span, side, parts.subroadbed.room) for side in ("left", "right")]
    return tuple(rows)


def _one_span(bearings: list[Bearing]) -> list[Bearing]:
    """Return the bearings of the first span only: one railhead on each side is enough."""
    return [b for b in bearings if b.span == bearings[0].span]


def _seat_place(b: Bearing) -> Filling:
    """Return which seat of its support is meant: a support has a sheet of its own."""
    return place(b.id.removeprefix(f"{b.support}/"))


def _from_base(mark: str) -> Told:
    return told("base at {0}", word(mark))


def _opened(all_: _Given, fitted: FittedSupport, cut: Cut, number: int) -> AsBuilt:
    """Return the height that a cut waits for: from the hung rail down to the base, in one reading."""
    planned = _over_support(all_, fitted) - cut.base
    low, high = all_.within(planned, all_.bridge.k * float(planned.sd(all_.inputs.spread)))
    marks = fitted.given.bases
    return AsBuilt(
        id=f"opened/{cut.id}",
        number=f"{cut.id}/base",
        belongs=fitted.given.name,
        what=told("railhead over its middle, both rails, the mean"),
        surface=_from_base(marks[min(number, len(marks) - 1)]),
        tool=DEPTH,
        planned=planned,
        low=low,
        high=high,
        otherwise=ENTER,
    )


def _over_support(all_: _Given, fitted: FittedSupport) -> Derived:
    """Return the railhead at the track's centre over the middle of a support.

    The bearings stand beside the track's centre and, at an end support, past its middle, where the track
    already stands higher or lower. So the plane of their railheads is followed to the place that is read.
    """
    found = []
    for span in all_.structures.spans:
        ends: dict[str, list[Bearing]] = {}
        for b in span.heights.bearings:
            ends.setdefault(b.support, []).append(b)
        here = ends.pop(fitted.given.name, None)
        if here is None:
            continue
        (far,) = ends.values()
        (near, at), (other, there) = _at_centre(here), _at_centre(far)
        found.append(near + (near - other) * ((fitted.station - at) / (at - there)))
    return found[0] if len(found) == 1 else (found[0] + found[1]) * 0.5


def _at_centre(pair: list[Bearing]) -> tuple[Derived, float]:
    """Return the railhead at the track's centre between the two bearings at one end of a span, and where."""
    left, right = sorted(pair, key=lambda b: b.side)
    share = left.rail_over_girder / (left.rail_over_girder - right.rail_over_girder)
    height = left.railhead + (right.railhead - left.railhead) * share
    station = left.station + (right.station - left.station) * share
    return height, float(station.value)


def _gap(all_: _Given, fitted: FittedSupport, b: Bearing) -> AsBuilt:
    cut, mark = base_of(fitted, b.side)
    level = frames_in(fitted)
    planned = (b.girder_top if level else b.seat) - cut.base
    low, high = all_.within(planned, all_.bridge.k * float(planned.sd(all_.inputs.spread)))
    surface = "top of the girder," if level else "underside of the shoe, its peg home,"
    return AsBuilt(
        id=f"gap/{b.id}",
        number=f"{b.id}/{'girder top' if level else 'seat'}",
        belongs=fitted.given.name,
        what=told(surface + " {0}, the unit standing", _seat_place(b)),
        surface=_from_base(mark),
        tool=DEPTH,
        planned=planned,
        low=low,
        high=high,
        otherwise=ENTER,
    )


def _room(all_: _Given, fitted: FittedSupport, cut: Cut, mine: list[Bearing]) -> tuple[float, float]:
    """Return the least and greatest height of the cap's top over the base that packing can make good.

    All bearings on the cap count for each column: a cap that lies on two columns carries every bearing by
    both, so a bearing is also lifted by the column on the other side.
    """
    packing, dap = all_.bridge.packing, all_.bridge.dap
    hang = float(size(all_.inputs, dap).value) if dap else 0.0
    level = frames_in(fitted)
    heights = [float(b.girder_top.value) - hang if level else float(b.seat.value) for b in mine]
    base = float(cut.base.value)
    return max(heights) - base - packing.most, min(heights) - base - packing.thinnest


def _shaft(all_: _Given, fitted: FittedSupport, cut: Cut, mine: list[Bearing]) -> AsBuilt:
    low, high = _room(all_, fitted, cut, mine)
    under = float(_under_cap(all_, fitted).value)
    thick = float(size(all_.inputs, fitted.given.cap).value)
    return AsBuilt(
        id=f"as built/{cut.id}/length",
        number=f"{cut.id}/length",
        belongs=fitted.given.name,
        what=told("{0}: its height when cut", place(cut.id)),
        surface=told("its foot"),
        tool=CALIPER,
        planned=cut.built,
        low=low - under - thick,
        high=high - under - thick,
        otherwise="Too tall: take it down now. Too short: a plinth, or a thicker cap.",
    )


def _under_cap(all_: _Given, fitted: FittedSupport) -> Derived:
    """Return the thickness of a support's footing."""
    foot = fitted.given.footing
    return size(all_.inputs, foot) if foot else constant(0.0, len(all_.inputs))


def _cap(all_: _Given, fitted: FittedSupport, cut: Cut, mine: list[Bearing]) -> AsBuilt:
    low, high = _room(all_, fitted, cut, mine)
    planned = _under_cap(all_, fitted) + cut.built + size(all_.inputs, fitted.given.cap)
    side = next((s for s in ("left", "right") if cut.id.endswith(f"column {s}")), "")
    _, mark = base_of(fitted, side)
    where = f" over its column, {{{side}}} side" if side else ""
    return AsBuilt(
        id=f"as built/{cut.id}/cap top",
        number=f"{fitted.given.name}/cap top",
        belongs=fitted.given.name,
        what=told("top of its cap" + where),
        surface=_from_base(mark),
        tool=DEPTH,
        planned=planned,
        low=low,
        high=high,
        otherwise="Too high: it cannot be packed; take it down before the glue is hard.",
    )


def _columns(all_: _Given, fitted: FittedSupport) -> list[AsBuilt]:
    support, found = fitted.given, []
    for side, clear in (("left", support.clear_left), ("right", support.clear_right)):
        if clear is None or support.kind is not SupportKind.STRADDLE_BENT:
            continue
        planned = size(all_.inputs, clear)
        surface = told("the lower track's centre, by a bar across both rails")
        if all_.lower:
            planned = planned - size(all_.inputs, all_.lower.gauge) * 0.5
            surface = told(f"the inner face of the lower rail nearer to it, {{{side}}} side")
        low, high = all_.assumed(size(all_.inputs, clear), clear.ids)
        off = float(planned.value) - float(size(all_.inputs, clear).value)
        found.append(
            AsBuilt(
                id=f"as built/{support.name}/column {side}/face",
                number=clear.ids[0],
                belongs=support.name,
                what=told(
                    "near face of {0}, square to the lower track", place(f"{support.name}/column {side}")
                ),
                surface=surface,
                tool=CALIPER,
                planned=planned,
                low=low + off,
                high=high + off,
                otherwise="Too near: move it before it is glued, and try the card.",
            )
        )
    return found


def _seat(all_: _Given, fitted: FittedSupport, b: Bearing) -> AsBuilt:
    cut, mark = base_of(fitted, b.side)
    planned = b.seat - cut.base
    low, high = all_.within(planned, all_.parts.tolerance)
    return AsBuilt(
        id=f"as built/{b.id}/seat",
        number=f"{b.id}/seat",
        belongs=fitted.given.name,
        what=told("top of the packing, {0}", _seat_place(b)),
        surface=_from_base(mark),
        tool=f"stick, then {CALIPER}",
        planned=planned,
        low=low,
        high=high,
        otherwise=PACK,
    )


def _girder_top(all_: _Given, fitted: FittedSupport, b: Bearing) -> AsBuilt:
    cut, mark = base_of(fitted, b.side)
    planned = b.girder_top - cut.base
    low, high = all_.within(planned, all_.parts.tolerance)
    return AsBuilt(
        id=f"as built/{b.id}/girder top",
        number=f"{b.id}/girder top",
        belongs=fitted.given.name,
        what=told("top of the girder, {0}, the span set", _seat_place(b)),
        surface=_from_base(mark),
        tool=DEPTH,
        planned=planned,
        low=low,
        high=high,
        otherwise=PACK,
    )


def _railhead(all_: _Given, fitted: FittedSupport, b: Bearing) -> AsBuilt:
    """Return the plane of the rail heads over a bearing: a straightedge across both rails reaches it."""
    cut, mark = base_of(fitted, b.side)
    planned = b.railhead - cut.base
    low, high = all_.within(planned, all_.parts.tolerance)
    return AsBuilt(
        id=f"as built/{b.id}/railhead",
        number=f"{b.id}/railhead",
        belongs=fitted.given.name,
        what=told("underside of a straightedge across both railheads, {0}", _seat_place(b)),
        surface=_from_base(mark),
        tool=DEPTH,
        planned=planned,
        low=low,
        high=high,
        otherwise="Pack or thin the ties there.",
    )


def _spacing(all_: _Given, span: FittedSpan) -> AsBuilt:
    given = span.axis.given
    planned = size(all_.inputs, given.spacing) + size(all_.inputs, given.flange)
    low, high = all_.assumed(planned, given.spacing.ids)
    if low == high:
        low, high = all_.within(planned, all_.parts.tolerance)
    return AsBuilt(
        id=f"as built/{given.name}/spacing",
        number=given.spacing.ids[0],
        belongs=given.name,
        what=told("over both girders, outer flange edge to outer flange edge"),
        surface=told("the flange edges, at both ends"),
        tool=CALIPER,
        planned=planned,
        low=low,
        high=high,
        otherwise="Mend the frames.",
    )


def _mid_span(all_: _Given, span: FittedSpan) -> AsBuilt:
    name, planned = span.axis.given.name, span.heights.vertical_middle_ordinate
    low, high = all_.within(planned, all_.parts.tolerance)
    return AsBuilt(
        id=f"as built/{name}/mid span",
        number=f"{name}/vertical middle ordinate",
        belongs=name,
        what=told("railhead at mid span; below the straightedge counts negative"),
        surface=told("a straightedge on the railheads over its bearings"),
        tool=STRAIGHT,
        planned=planned,
        low=low,
        high=high,
        otherwise="Pack or thin the ties there.",
    )


def _edge(all_: _Given, span: FittedSpan, side: str, room: float) -> AsBuilt:
    name = span.axis.given.name
    return AsBuilt(
        id=f"as built/{name}/opening {side}",
        number="subroadbed/room",
        belongs=name,
        what=told(f"board's edge, {{{side}}} side, where it comes nearest"),
        surface=told("the outermost part of the bridge there"),
        tool=RULE,
        planned=constant(room, len(all_.inputs)),
        low=room,
        high=None,
        otherwise="File the board back.",
    )
