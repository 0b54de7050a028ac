"""Seat plans: each cap at full size with its shoes, and the same enlarged with its dimensions.

One looks down on the cap, the end of the line away from the reader. The upper figure is true: it is pricked
through, or laid beside the cap. The lower one says every number; seats are set by measured numbers, never
by paper.
"""

from __future__ import annotations

import numpy as np

from spanwright.drawings.display import Circle, Item, Path, Point, Role, Sheet, box, moved, path
from spanwright.drawings.draughting import Draught, bounds
from spanwright.drawings.layout.clipping import clipped
from spanwright.drawings.sheets.ruled import ruled
from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.parts.seats import SeatPlace, SeatPlan

FloatArray = np.ndarray

#: Enlargements of the dimensioned figure; the largest that leaves all on one page is taken, 1 for none.
ENLARGED = (5.0, 4.0, 3.0, 2.5, 2.0, 1.5)
#: Widest enlarged figure, and highest drawing with both figures and the table. [mm]
WIDEST, HIGHEST = 118.0, 185.0
_BESIDE = 72.0  # dimension lines, words and the table above and below the figures
#: How far girders and tracks are shown beyond the cap, at full size. [mm]
_AROUND = 5.0
_ROW = 5.2  # between two dimension lines
CAUTION = (
    "Drill with a sharp bit in a pin vice, the cap held in a vice or on a board, fingers beside and not"
    " beneath it; eyes covered."
)


def seat_sheets(plans: tuple[SeatPlan, ...], say: Speech) -> tuple[Sheet, ...]:
    """Draw the seat plan of every support.

    Parameters
    ----------
    plans : tuple of SeatPlan
        The seat plans.
    say : Speech
        The builder's words and unit.

    Returns
    -------
    tuple of Sheet
        One a support, ids such as ``seat/pier 1``.
    """
    return tuple(_sheet(plan, say) for plan in plans)


class _Figure:
    """One drawing of a cap, at full size or enlarged."""

    def __init__(self, plan: SeatPlan, say: Speech, scale: float) -> None:
        self.plan, self.say, self.scale = plan, say, scale
        self.draught = Draught()
        #: half sizes of the cap, and of the window around it in which girders and tracks are shown [mm]
        self.right, self.ahead = (0.5 * float(v.value) * scale for v in (plan.length, plan.wide))
        reach = np.array([seat.centre[0] for seat in plan.seats]) * scale
        around = _AROUND * scale
        self.edge_x = max(self.right, float(np.abs(reach[:, 0]).max())) + around
        self.edge_y = max(self.ahead, float(np.abs(reach[:, 1]).max())) + around

    def at(self, seat: SeatPlace) -> Point:
        """Return the point to mark: the middle of the shoe, or where the girder meets the cap's face."""
        if seat.on_face is None:
            return (float(seat.x.value) * self.scale, float(seat.y.value) * self.scale)
        up = 1.0 if float(seat.y.value) >= 0.0 else -1.0
        return (float(seat.on_face.value) * self.scale, up * self.ahead)


def _sheet(plan: SeatPlan, say: Speech) -> Sheet:
    true = _Figure(plan, say, 1.0)
    scale = next(
        (
            f
            for f in ENLARGED
            if 2.0 * true.edge_x * f <= WIDEST and 2.0 * true.edge_y * (1.0 + f) + _BESIDE <= HIGHEST
        ),
        1.0,
    )
    draught = Draught()
    if scale > 1.0:
        _lines(true, drill=0.5)
        _numbers_beside(true)
        _directions(true, gap=0.0)
        draught.add(true.draught.items)
    figure = _Figure(plan, say, scale)
    _lines(figure, drill=0.35 * scale)
    _numbers(figure)
    _tracks(figure)
    rows = _dimensions(figure)
    _beneath(figure)
    if scale > 1.0:
        said = f"Enlarged {scale:g} times, to read the numbers from; {_how(say)}"
        figure.draught.label(said, (0.0, rows + 2.0))
    else:
        _directions(figure, gap=rows - figure.edge_y)
    high = bounds(figure.draught.items)[3]
    bottom = bounds(draught.items)[1] if scale > 1.0 else high + 7.0
    draught.add(moved(figure.draught.items, by=(0.0, bottom - 7.0 - high)))
    left, foot, _, _ = bounds(draught.items)
    ruled(draught, (left, foot - 5.0), *_table(plan, say))
    return Sheet(
        id=f"seat/{plan.support}",
        title=f"{say.place(plan.support)}: seat plan, seen from above",
        items=draught.items,
        true=True,
        side_up="printed side up, seen from above",
        notes=_notes(plan, say),
    )


def _how(say: Speech) -> str:
    return f"{'inches' if say.unit == 'in' else 'mm'} from the cap's centre lines"


def _lines(figure: _Figure, *, drill: float) -> None:
    """All lines, clipped to the window around the cap; the cap last, on top."""
    plan, scale = figure.plan, figure.scale
    x, y = figure.right, figure.ahead
    drawn: list[Item] = []
    for seat in plan.seats:
        drawn.append(path(seat.girder * scale, Role.REFERENCE, closed=True))
        start = seat.centre[0] * scale if seat.on_face is None else figure.at(seat)
        drawn.append(path([start, seat.centre[1] * scale], Role.CENTRE))
    drawn += [path(line * scale, Role.CENTRE) for line in (plan.over, plan.under) if len(line)]
    window = (-figure.edge_x, -figure.edge_y, figure.edge_x, figure.edge_y)
    found: list[Item] = list(clipped(drawn, window))
    found += [path(outline * scale, Role.HIDDEN, closed=True) for _, outline in plan.beneath]
    found.append(path([(-x - 3.0, 0.0), (x + 3.0, 0.0)], Role.CENTRE))
    found.append(path([(0.0, -y - 3.0), (0.0, y + 3.0)], Role.CENTRE))
    for seat in plan.seats:
        if len(seat.shoe):
            found.append(path(seat.shoe * scale, Role.OUTLINE, closed=True))
            found += _drill(figure.at(seat), drill)
    found.append(box((-x, -y), (x, y), Role.OUTLINE))
    figure.draught.add(found)


def _drill(at: Point, arm: float) -> list[Item]:
    x, y = at
    return [
        Path(points=((x - arm, y), (x + arm, y)), role=Role.CUT),
        Path(points=((x, y - arm), (x, y + arm)), role=Role.CUT),
        Circle(centre=at, radius=0.6 * arm, role=Role.FINE),
    ]


def _half(seat: SeatPlace, scale: float) -> float:
    """Half of how far a shoe reaches along the cap, or a girder's end where there is no shoe."""
    corners = seat.shoe if len(seat.shoe) else seat.girder[[0, 3]]
    return 0.5 * float(np.ptp(corners[:, 0])) * scale


def _numbers_beside(figure: _Figure) -> None:
    """Set the number of each seat beside the cap."""
    for n, seat in enumerate(figure.plan.seats, start=1):
        x, y = figure.at(seat)
        side, out = (1.0 if v >= 0.0 else -1.0 for v in (x, y))
        tip = (x + side * _half(seat, 1.0), y)
        knee = (side * (figure.edge_x + 2.0), y + out * 1.5)
        figure.draught.leader(tip, knee, str(n))


def _numbers(figure: _Figure) -> None:
    """Set the number of each seat beside its shoe, on the side of the cap's middle."""
    draught = figure.draught
    for n, seat in enumerate(figure.plan.seats, start=1):
        x, y = figure.at(seat)
        side, out = (1.0 if v >= 0.0 else -1.0 for v in (x, y))
        if seat.on_face is not None:
            y -= out * 2.2
        place = (x - side * (_half(seat, figure.scale) + 1.8), y - 0.36 * 2.8)
        draught.label(str(n), place, away=(-side, 0.0), bold=True, size=2.8)


def _directions(figure: _Figure, *, gap: float) -> None:
    """Set the builder's words for the four directions around the figure."""
    draught, say = figure.draught, figure.say
    x, y = figure.edge_x, figure.edge_y + gap
    draught.label(f"to {say.words.finish}", (0.0, y + 1.5), away=(0.0, 1.0))
    draught.label(f"to {say.words.start}", (0.0, -y - 3.4), away=(0.0, -1.0))
    left, right = bounds(draught.items)[::2] if gap else (-x - 5.0, x + 5.0)
    draught.label(say.side("left"), (left - 1.5, -0.9), away=(-1.0, 0.0), anchor="end")
    draught.label(say.side("right"), (right + 1.5, -0.9), away=(1.0, 0.0), anchor="start")


def _tracks(figure: _Figure) -> None:
    """Name both tracks along their lines: over the cap at the far end, beneath it at the near end."""
    for line, said, ahead in (
        (figure.plan.over, "track over", True),
        (figure.plan.under, "track beneath", False),
    ):
        if not len(line):
            continue
        run = line * figure.scale
        seen = run[(np.abs(run[:, 0]) < figure.edge_x) & (np.abs(run[:, 1]) < figure.edge_y)]
        if len(seen) < 2:
            continue
        tip, back = (seen[-1], seen[-2]) if ahead else (seen[0], seen[1])
        out = (tip - back) / np.hypot(*(tip - back))
        # read from below or from the right; beside the line, away from the cap's own centre line
        reads_outward = bool(out[0] > 0.1 or (abs(out[0]) <= 0.1 and out[1] > 0.0))
        read = out if reads_outward else -out
        up = np.array([-read[1], read[0]])
        is_above = (up[0] >= 0.0) == (float(seen[:, 0].mean()) >= 0.0)
        rise = 0.7 if is_above else -0.7 - 0.76 * figure.draught.size
        at, away = tip - out + up * rise, up if is_above else -up
        figure.draught.label(
            said,
            (float(at[0]), float(at[1])),
            away=(float(away[0]), float(away[1])),
            anchor="end" if reads_outward else "start",
            turn=float(np.arctan2(read[1], read[0])),
        )


def _dimensions(figure: _Figure) -> float:
    """From the centre lines to every point that is marked; return the height of the uppermost line."""
    draught, plan, say = figure.draught, figure.plan, figure.say
    rows = {1.0: figure.edge_y + 2.0, -1.0: -figure.edge_y - 2.0}
    columns = {1.0: figure.edge_x + 3.0, -1.0: -figure.edge_x - 3.0}
    for seat in sorted(plan.seats, key=lambda s: abs(figure.at(s)[0])):
        at = figure.at(seat)
        up = 1.0 if at[1] >= 0.0 else -1.0
        said = _bare(seat.x if seat.on_face is None else seat.on_face, say)
        draught.level_dimension((0.0, up * figure.ahead), at, said, at=rows[up])
        rows[up] += up * _ROW
    for seat in sorted(plan.seats, key=lambda s: abs(figure.at(s)[1])):
        at = figure.at(seat)
        out = 1.0 if at[0] >= 0.0 else -1.0
        if seat.on_face is None:
            draught.upright_dimension((out * figure.right, 0.0), at, _bare(seat.y, say), at=columns[out])
            columns[out] += out * _ROW
            _edge(figure, seat)
    low, high = (-figure.right, -figure.ahead), (figure.right, figure.ahead)
    draught.level_dimension(low, (high[0], low[1]), say.with_unit(plan.length), at=rows[-1.0])
    draught.upright_dimension((high[0], low[1]), high, say.with_unit(plan.wide), at=columns[1.0])
    return rows[1.0]


def _edge(figure: _Figure, seat: SeatPlace) -> None:
    """From the shoe's corner to the long edge of the cap that is nearer, beside the shoe."""
    up, out = (1.0 if float(v.value) >= 0.0 else -1.0 for v in (seat.y, seat.x))
    corner = max(seat.shoe, key=lambda p: float(p[1]) * up) * figure.scale
    beside = max(seat.shoe, key=lambda p: float(p[0]) * out) * figure.scale
    gap = (figure.ahead - up * float(corner[1])) / figure.scale
    at = (float(corner[0]), float(corner[1]))
    figure.draught.upright_dimension(
        at, (at[0], up * figure.ahead), figure.say.bare(gap, 2), at=float(beside[0]) + out * 4.0
    )


def _bare(number: Derived, say: Speech) -> str:
    return say.bare(abs(float(number.value)), 2)


def _beneath(figure: _Figure) -> None:
    """Name what stands under the cap."""
    for name, outline in figure.plan.beneath:
        corners = outline * figure.scale
        if np.all(np.abs(np.abs(corners) - (figure.right, figure.ahead)) < 0.01):
            continue  # an abutment's body as large as its seat: no line of its own to point at
        out = 1.0 if float(corners[:, 0].mean()) > 1.0 else -1.0
        tip = min(corners, key=lambda p: float(p[1]) - 0.5 * out * float(p[0]))
        said = figure.say.place(f"{figure.plan.support}/{name}").rpartition(", ")[2]
        knee = (out * (figure.right + 2.0), -figure.ahead - 3.5)
        figure.draught.leader((float(tip[0]), float(tip[1])), knee, f"{said} beneath")


def _table(plan: SeatPlan, say: Speech) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    head: tuple[str, ...]
    if plan.level:
        head = (
            "girder",
            "its middle on the face,\nfrom the cap's middle",
            "its end\nto the face",
            "packing\non the cap",
        )
    else:
        head = (
            "seat",
            "from the middle,\nalong the cap",
            "from the middle,\nacross the cap",
            "shoe to the\nnearest edge",
            "packing\nunder the shoe",
        )
    rows: list[tuple[str, ...]] = []
    for n, seat in enumerate(plan.seats, start=1):
        name = f"{n}: {seat.span}, {say.side(seat.side)} girder"
        room = seat.face if seat.edge is None else seat.edge
        last = ("" if room is None else say.of(room), say.of(seat.packing))
        if seat.on_face is not None:
            rows.append((name, _sided(seat.on_face, say), *last))
            continue
        ahead = say.words.finish if float(seat.y.value) >= 0.0 else say.words.start
        rows.append((name, _sided(seat.x, say), f"{_size(seat.y, say)} {ahead}", *last))
    return head, rows


def _sided(number: Derived, say: Speech) -> str:
    return f"{_size(number, say)} {say.side('right' if float(number.value) >= 0.0 else 'left')}"


def _size(number: Derived, say: Speech) -> str:
    return say.length(abs(float(number.value)), say.doubt(number))


def _notes(plan: SeatPlan, say: Speech) -> tuple[str, ...]:
    k = f"{say.k:g} times the standard uncertainty"
    first = f"All in {'inches' if say.unit == 'in' else 'mm'}; give or take is {k}."
    if plan.level:
        return (
            f"{first} Girders frame into the faces of this cap: mark the faces where the centre lines of the"
            " girders meet them. The table says how far each square end stops short of its face. Ties that"
            " cross the cap lie on the packing.",
        )
    return (
        f"{first} It says how far a span may come to lie off its seat once cap and span are set out. Mark"
        " the cap's two centre lines and set the points out from them with dividers; the full-size figure is"
        " to check by, or to prick through.",
        "A cross is the middle of a shoe. Drill there only for a shoe with a pin beneath, so deep that the"
        " pin goes home, and drill the packing for it too. Packing lies under the shoe and is made last, to"
        " the measured gap.",
        CAUTION,
    )
