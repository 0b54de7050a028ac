"""The jig of each unit at full size: two spans or more on a flat board, as they are to be joined.

The first span's axis is the base line, ruled on the board first. All else is set out from it: the axis of
the next span by its kink, the girders' outlines, stops at both outer ends, and what is laid under each
shoe so that the spans lie to each other as they will on the layout.
"""

from __future__ import annotations

import numpy as np

from spanwright.drawings.display import Circle, Item, Path, Point, Role, Sheet, path
from spanwright.drawings.draughting import Draught, bounds
from spanwright.drawings.sheets.ruled import ruled
from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.parts.jigs import Jig, JigSeat, JigSpan, Joint

FloatArray = np.ndarray

#: Thinner layers are left out on the board (common practice, no source). [mm]
THIN = 0.05
#: How thick the end stops are drawn; any straight block will do. [mm]
_STOP = 4.0
_BEYOND = 10.0  # centre lines run on so far beyond the girders
_ROW = 5.4
CAUTIONS = (
    "Glue with the window open, away from flames; no solvent on the skin. Tack the joint, check the length"
    " over all and the offset, then glue.",
    "If the girders are of metal: the joint burns skin long after the iron is away; hold it in tongs on a"
    " heat-proof board, and do not breathe the fumes.",
)


def jig_drawings(jigs: tuple[Jig, ...], say: Speech) -> tuple[Sheet, ...]:
    """Draw the jig of every unit at full size.

    Parameters
    ----------
    jigs : tuple of Jig
        The units on their boards.
    say : Speech
        The builder's words and unit.

    Returns
    -------
    tuple of Sheet
        One a unit, ids such as ``jig/span B + span C``.
    """
    return tuple(_sheet(jig, say) for jig in jigs)


def _sheet(jig: Jig, say: Speech) -> Sheet:
    draught = Draught()
    draught.add(_lines(jig))
    _numbers(draught, jig)
    _lengths(draught, jig, say)
    for k, joint in enumerate(jig.joints):
        _joint(draught, joint, jig.spans[k], jig.spans[k + 1], say)
    _names(draught, jig, say)
    left, bottom, _, _ = bounds(draught.items)
    head, rows = _seats(jig, say)
    right, _ = ruled(draught, (left, bottom - 5.0), head, rows)
    ruled(draught, (right + 8.0, bottom - 5.0), ("", ""), _numbers_of(jig, say))
    return Sheet(
        id=f"jig/{' + '.join(span.name for span in jig.spans)}",
        title=f"{jig.name}: jig to join them into one unit, seen from above",
        items=draught.items,
        true=True,
        side_up="printed side up, seen from above",
        notes=_notes(say),
    )


def _value(pair: tuple[Derived, Derived]) -> FloatArray:
    return np.array([float(v.value) for v in pair])


def _plain(p: FloatArray) -> Point:
    return (float(p[0]), float(p[1]))


def _way(span: JigSpan) -> FloatArray:
    """Return the unit vector along a span on the board."""
    start, end = (_value(e) for e in span.ends)
    found: FloatArray = (end - start) / np.hypot(*(end - start))
    return found


def _half_wide(span: JigSpan) -> float:
    """Half the width of a span over its flanges."""
    left = np.array([-_way(span)[1], _way(span)[0]])
    start = _value(span.ends[0])
    return float(max(abs((corner - start) @ left) for _, outline in span.girders for corner in outline))


def _lines(jig: Jig) -> list[Item]:
    first, last = jig.spans[0], jig.spans[-1]
    far = float(jig.far_along.value)
    items: list[Item] = [path([(-_BEYOND, 0.0), (far + _BEYOND, 0.0)], Role.CENTRE)]
    for span in jig.spans[1:]:
        start, end = (_value(e) for e in span.ends)
        items.append(path([start - _way(span) * _BEYOND, end + _way(span) * _BEYOND], Role.CENTRE))
    for span in jig.spans:
        for _, outline in span.girders:
            items.append(path(outline, Role.OUTLINE, closed=True))
        for seat in span.seats:
            items += _cross(_at(seat))
    for span, number, sense in ((first, 0, -1.0), (last, 1, 1.0)):
        end, way = _value(span.ends[number]), _way(span) * sense
        side = np.array([-way[1], way[0]]) * (_half_wide(span) + 2.0)
        out = way * _STOP
        items.append(
            Path(
                points=tuple(_plain(p) for p in (end - side, end + side, end + side + out, end - side + out)),
                role=Role.REFERENCE,
                closed=True,
                fill=0.9,
            )
        )
    return items


def _at(seat: JigSeat) -> Point:
    return (float(seat.x.value), float(seat.y.value))


def _cross(at: Point) -> list[Item]:
    x, y = at
    return [
        Path(points=((x - 1.0, y), (x + 1.0, y)), role=Role.FINE),
        Path(points=((x, y - 1.0), (x, y + 1.0)), role=Role.FINE),
        Circle(centre=at, radius=0.6, role=Role.FINE),
    ]


def _numbered(jig: Jig) -> list[tuple[int, JigSpan, JigSeat]]:
    seats = [(span, seat) for span in jig.spans for seat in span.seats]
    return [(n, span, seat) for n, (span, seat) in enumerate(seats, start=1)]


def _numbers(draught: Draught, jig: Jig) -> None:
    """Set the number of each seat between the girders, where no dimension stands."""
    for n, span, seat in _numbered(jig):
        way = _way(span)
        inward = np.array([way[1], -way[0]]) if seat.side == "left" else np.array([-way[1], way[0]])
        place = np.array(_at(seat)) + inward * 3.0
        draught.label(str(n), (float(place[0]), float(place[1]) - 0.9), away=_plain(inward), bold=True)


def _lengths(draught: Draught, jig: Jig, say: Speech) -> None:
    """Dimension each girder length, the far end from the base line, the length over all, the width."""
    low = min(float(outline[:, 1].min()) for span in jig.spans for _, outline in span.girders)
    for span in jig.spans:
        start, end = (_value(e) for e in span.ends)
        way = _way(span)
        left = np.array([-way[1], way[0]])
        half = _half_wide(span)
        a, b = start + left * half, end + left * half
        draught.dimension(_plain(a), _plain(b), f"{span.name}: {say.of(span.length)}", offset=6.0)
    start, far = _value(jig.spans[0].ends[0]), _value(jig.spans[-1].ends[1])
    draught.level_dimension(_plain(start), _plain(far), say.of(jig.far_along), at=low - 8.0)
    out = float(far[0]) + _BEYOND + 4.0
    if abs(float(jig.far_offset.value)) > 0.05:
        draught.upright_dimension((float(far[0]), 0.0), _plain(far), say.of(jig.far_offset), at=out)
    girder = dict(jig.spans[0].girders)
    a, b = girder["right"][0], girder["left"][3]
    draught.upright_dimension(_plain(a), _plain(b), say.of(jig.wide), at=-_BEYOND - 4.0)


def _joint(draught: Draught, joint: Joint, before: JigSpan, after: JigSpan, say: Speech) -> None:
    """Point at the kink and at the gaps between the girder ends."""
    outlines = {"before": dict(before.girders), "after": dict(after.girders)}
    turn = 1.0 if float(joint.kink.value) >= 0.0 else -1.0
    for side, number, out, gap in (
        ("left", (2, 3), 1.0, joint.gap_left),
        ("right", (1, 0), -1.0, joint.gap_right),
    ):
        a, b = outlines["before"][side][number[0]], outlines["after"][side][number[1]]
        middle = 0.5 * (a + b)
        knee = (float(middle[0]) - 6.0, float(middle[1]) + out * (16.0 if out == turn else 5.0))
        if out < 0.0:
            knee = (float(middle[0]) + 6.0, knee[1])
        draught.leader(_plain(middle), knee, f"gap {say.side(side)} {say.of(gap)}")
    start, end = (_value(e) for e in after.ends)
    middle = 0.5 * (start + end)
    draught.leader(
        _plain(0.25 * start + 0.75 * middle),
        (float(middle[0]) + 10.0, float(start[1]) - turn * 13.0),
        f"kink {_turned(joint, say)}",
    )


def _turned(joint: Joint, say: Speech) -> str:
    way = say.side("left" if float(joint.kink.value) >= 0.0 else "right")
    angle = joint.kink if float(joint.kink.value) >= 0.0 else -joint.kink
    return f"{say.angle(angle)} towards {way}"


def _names(draught: Draught, jig: Jig, say: Speech) -> None:
    """Name the base line, the stops and the directions."""
    far = float(jig.far_along.value)
    half = _half_wide(jig.spans[0])
    first = jig.spans[0]
    middle = 0.5 * float(first.ends[1][0].value)
    draught.label("base line", (middle, 0.9), away=(1.0, 0.0))
    for side, y in (("left", 0.45 * half), ("right", -0.45 * half)):
        draught.label(say.side(side), (0.4 * middle, y - 0.9), away=(1.0, 0.0))
    draught.label(f"{say.words.start} end, stop", (2.0, -half - 5.0), anchor="middle", away=(0.0, -1.0))
    last = jig.spans[-1]
    end, way = _value(last.ends[1]), _way(last)
    right = np.array([way[1], -way[0]])
    corner = end + right * (_half_wide(last) + 2.0)
    knee = (min(float(corner[0]) + 3.0, far + 2.0), float(corner[1]) - 4.0)
    draught.leader(_plain(corner + way * 0.5 * _STOP), knee, f"{say.words.finish} end, stop")


def _seats(jig: Jig, say: Speech) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    head: tuple[str, ...] = ("shoe", "along the\nbase line", "beside it", "laid under it\non the board")
    rows: list[tuple[str, ...]] = []
    for n, span, seat in _numbered(jig):
        aside = say.side("left" if float(seat.y.value) >= 0.0 else "right")
        rows.append(
            (
                f"{n}: {span.name}, {say.side(seat.side)}",
                say.of(seat.x),
                f"{say.length(abs(float(seat.y.value)), say.doubt(seat.y))} {aside}",
                _packing(seat.packing, say),
            )
        )
    return head, rows


def _packing(number: Derived, say: Speech) -> str:
    """Say a packing, 0 for a shoe that stands in the plane of the lowest and so on the board itself."""
    return "0" if abs(float(number.value)) < 1e-6 and say.doubt(number) < 1e-6 else say.of(number)


def _numbers_of(jig: Jig, say: Speech) -> list[tuple[str, str]]:
    rows = []
    for joint in jig.joints:
        over = f" over {joint.support}" if len(jig.joints) > 1 else ""
        up = "up" if float(joint.rise.value) >= 0.0 else "down"
        rows += [
            (f"kink in plan{over}", _turned(joint, say)),
            (f"step between the axes{over}", say.sided(joint.jog)),
            (f"gap between girder ends, {say.side('left')}{over}", say.of(joint.gap_left)),
            (f"gap between girder ends, {say.side('right')}{over}", say.of(joint.gap_right)),
            (
                f"kink in height{over}: the far shoes stand",
                f"{say.length(abs(float(joint.rise.value)), say.doubt(joint.rise))} {up}",
            ),
        ]
    rows += [
        ("far end from the base line", say.sided(jig.far_offset)),
        ("middle of outer end to middle of outer end", say.of(jig.over_all)),
        ("width over the flanges", say.of(jig.wide)),
    ]
    return rows


def _notes(say: Speech) -> tuple[str, ...]:
    return (
        f"All in {'inches' if say.unit == 'in' else 'mm'}; give or take is {say.k:g} times the standard"
        " uncertainty, of the track as surveyed; the unit is made to the number. Rule the base line on a"
        " flat board, set out the second axis by the far end's offset, then the girders and both stops. Paper"
        " is to check by; the numbers are set out.",
        "Stand each shoe, peg home, on what the table says is laid under it: 0 is the board. A layer thinner"
        f" than {say.plain(THIN, 2)} is not worth it (common practice, no source). Press the outer ends"
        " against their stops, join, and let it set before it is lifted.",
        *CAUTIONS,
    )
