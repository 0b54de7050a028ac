"""The bridge seen from its side, unrolled: every span square to its own axis, end to end.

A bridge on a curve has no one direction to look in. Each span is drawn as seen square to its own axis,
so that its length is true, and set beside the next at the support they share; each support is seen
square to the track there. Left on paper is the start of the line, so one looks from the right of
growing station. Read :func:`elevation_sheet`.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from spanwright.alignment.crossing import meet
from spanwright.alignment.line import height_at, track_point
from spanwright.alignment.stage import Alignments
from spanwright.drawings import fonts
from spanwright.drawings.display import Item, Path, Point, Role, Sheet, Text, box, path
from spanwright.drawings.draughting import Draught
from spanwright.drawings.sheets.arrangement.silhouette import Outline, largest, outlines, painted
from spanwright.drawings.sheets.arrangement.views import ClearHeight, bridged, clear_height, unroll
from spanwright.drawings.speech import Speech
from spanwright.estimation.inputs import size
from spanwright.structures.given import CapForm, StructuresInput, SupportKind
from spanwright.structures.shapes import Shape
from spanwright.structures.stage import Structures
from spanwright.structures.supports import Cut, FittedSupport

FloatArray = np.ndarray

SIZE = 2.2
#: How far the line is shown beyond the bridge, on paper. [mm]
BEYOND = 16.0
_LETTER = 1.9
_ROW = 3.2  # from one line of text to the next
_PACKING = 0.7  # grey
_NARROW_FINE = ("girder", "ties", "cap", "handrail")


def elevation_sheet(given: StructuresInput, alignments: Alignments, bridge: Structures, say: Speech) -> Sheet:
    """Draw the bridge from its side.

    Parameters
    ----------
    given : StructuresInput
        Layers and the names of the lines.
    alignments : Alignments
        The lines.
    bridge : Structures
        The fitted bridge.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    Sheet
        ``arrangement/elevation``; x = 0 at the first support, y = 0 at the height datum.
    """
    clear = clear_height(alignments, bridge, given)
    return largest(lambda scale: _sheet(_Picture(given, alignments, bridge, say, scale=scale, clear=clear)))


class _Picture:
    """What every part of the drawing needs."""

    def __init__(
        self,
        given: StructuresInput,
        alignments: Alignments,
        bridge: Structures,
        say: Speech,
        *,
        scale: float,
        clear: ClearHeight | None,
    ) -> None:
        self.given, self.alignments, self.bridge, self.say = given, alignments, bridge, say
        self.scale, self.clear = scale, clear
        self.upper = alignments.line(given.upper)
        self.view = unroll(self.upper, bridge)
        self.draught = Draught(SIZE)
        self.x = [v * scale for v in self.view.at]
        heights = [s.vertices[:, 2].max() for s in bridge.shapes]
        self.top = float(max(heights)) * scale
        self.base = min(float(c.base.value) for s in bridge.supports for c in s.cuts) * scale
        crossing = bridged(alignments, bridge)
        self.crossing_at = self.view.along(float(crossing.centre.upper_station.value)) * scale
        half = 0.5 * float(alignments.line(given.lower).head_distance.value)
        self.rails_reach = half / abs(float(np.sin(crossing.angle.value))) * scale

    def paper(self, part: str, corners: FloatArray) -> FloatArray:
        """X and y on paper and the depth of a part's corners."""
        placed = self.view.frame(part.rpartition("/")[0]).place(corners)
        return np.column_stack([placed[:, 0] * self.scale, corners[:, 2] * self.scale, placed[:, 1]])


def _sheet(p: _Picture) -> Sheet:
    bridge, say = p.bridge, p.say
    seen = [o for shape in bridge.shapes for o in _part(p, shape)]
    seen += _shoes(p)
    seen.append(_rail(p))
    p.draught.add(_base_line(p))
    p.draught.add(_lower_rails(p))
    p.draught.add(painted(seen))
    p.draught.add(_centre_lines(p))
    notes = _heights(p)
    _lengths(p)
    _levels(p)
    _table(p)
    _ends(p)
    return Sheet(
        id="arrangement/elevation",
        title=f"Elevation from the {say.side('right')} side, unrolled along the spans",
        items=p.draught.items,
        true=False,
        scale=p.scale,
        notes=(
            *notes,
            "Each span is seen square to its own axis, each support square to the track. Lengths and heights"
            f" in {'inches' if say.unit == 'in' else 'mm'}, heights above the datum; a seat is the top of its"
            " packing (grey), under the shoe.",
        ),
    )


def _part(p: _Picture, shape: Shape) -> tuple[Outline, ...]:
    fine = Role.FINE if shape.part.rpartition("/")[2].split()[0] in _NARROW_FINE else None
    role = Role.FINE if shape.part.endswith("/ties") else Role.OUTLINE
    return outlines(shape, partial(p.paper, shape.part), role=role, fine=fine)


def frames_in(support: FittedSupport) -> bool:
    """Tell whether girders frame into a support's cap instead of standing on it.

    Parameters
    ----------
    support : FittedSupport
        The support.

    Returns
    -------
    bool
        True for a bent whose cap is level with the girders.
    """
    return support.given.kind is SupportKind.STRADDLE_BENT and support.given.form is CapForm.LEVEL


def _shoes(p: _Picture) -> list[Outline]:
    """Return shoes and packing, which are no part of the finished shapes."""
    found = []
    spans = {s.axis.given.name: s for s in p.bridge.spans}
    bearings = {b.id: b for b in p.bridge.bearings}
    for support in p.bridge.supports:
        for seat in support.seats:
            b = bearings[seat.bearing]
            placed = p.view.frame(b.span).place(np.array([[float(b.x.value), float(b.y.value)]]))[0]
            if frames_in(support):  # packing lies on the cap, under the ties
                frame, wide = p.view.frame(support.given.name), support.given.cap_along
                top = np.array([[float(support.footprint.x.value), float(support.footprint.y.value)]])
                placed = np.array([frame.place(top)[0, 0], placed[1]])
                bottom, shoe = float((support.cap_top + seat.packing).value), 0.0
            else:
                wide = spans[b.span].axis.given.shoe_along
                bottom, shoe = float(b.seat.value), float(b.layers[-1].thickness.value)
            half = 0.5 * float(size(p.alignments.inputs, wide).value)
            layers = {
                "packing": (bottom - float(seat.packing.value), bottom),
                "shoe": (bottom, bottom + shoe),
            }
            for name, (low, high) in layers.items():
                if high > low:
                    corners = np.array(box((placed[0] - half, low), (placed[0] + half, high)).points)
                    found.append(
                        Outline(
                            part=f"{b.id}/{name}",
                            corners=corners * p.scale,
                            depth=float(placed[1]) - 1.0,
                            role=Role.FINE,
                            fill=_PACKING if name == "packing" else 1.0,
                        )
                    )
    return found


def _rail(p: _Picture) -> Outline:
    """Return the rail of the upper line, from a little before the bridge to a little beyond."""
    reach = BEYOND / p.scale
    first, last = p.view.stations[0], p.view.stations[-1]
    s = np.linspace(first - reach, last + reach, 241)
    top = height_at(p.upper, s)
    low = top - float(size(p.alignments.inputs, p.given.rail).value)
    x = np.array([p.view.along(v) for v in s])
    corners = np.concatenate([np.column_stack([x, top]), np.column_stack([x, low])[::-1]]) * p.scale
    return Outline(part="rail", corners=corners, depth=-0.5 * float(p.upper.head_distance.value))


def _base_line(p: _Picture) -> list[Item]:
    """Draw what the supports are glued to: straight from mark to mark, with the strokes of cut ground."""
    marks = []
    for support in p.bridge.supports:
        frame = p.view.frame(support.given.name)
        for centre, cut in zip(support.footprint.columns, support.cuts, strict=True):
            x = float(frame.place(centre.value.reshape(1, 2))[0, 0])
            marks.append((x * p.scale, float(cut.base.value) * p.scale))
    marks.sort()
    line = np.array([(marks[0][0] - BEYOND, marks[0][1]), *marks, (marks[-1][0] + BEYOND, marks[-1][1])])
    items: list[Item] = [path(line, Role.OUTLINE)]
    for x in np.arange(line[0, 0] + 2.0, line[-1, 0], 4.0):
        y = float(np.interp(x, line[:, 0], line[:, 1]))
        items.append(Path(points=((x, y), (x - 1.3, y - 1.3)), role=Role.FINE))
    return items


def _lower_rails(p: _Picture) -> list[Item]:
    """Draw the lower rails, cut by the upright surface through the upper track's centre."""
    lower = p.alignments.line(p.given.lower)
    centre = bridged(p.alignments, p.bridge).centre
    start = (float(centre.upper_station.value), float(centre.lower_station.value))
    slant = abs(np.sin(float(bridged(p.alignments, p.bridge).angle.value)))
    rail = float(size(p.alignments.inputs, p.given.rail).value)
    items: list[Item] = []
    ends = []
    for sign in (0.5, -0.5):
        s, t = meet(p.upper, lower, start, (0.0, lower.head_distance * sign))
        track = track_point(lower, t.value.reshape(1))
        x, top = p.view.along(float(s.value)), float((track.z - track.cant * sign).value[0])
        ends.append((x, top))
        head, foot = 0.22 * rail / slant, 0.5 * rail / slant
        shape = [(-head, 0.0), (head, 0.0), (head, -0.7 * rail), (foot, -0.75 * rail), (foot, -rail)]
        shape += [(-foot, -rail), (-foot, -0.75 * rail), (-head, -0.7 * rail)]
        corners = (np.array(shape) + np.array([x, top])) * p.scale
        items.append(path(corners, Role.FINE, closed=True, fill=0.0))
    ends.sort()
    level = np.array(
        [(ends[0][0] - 6.0 / p.scale, ends[0][1]), *ends, (ends[1][0] + 6.0 / p.scale, ends[1][1])]
    )
    items.append(path(level * p.scale, Role.REFERENCE))
    return items


def _centre_lines(p: _Picture) -> list[Item]:
    low, high = p.base - 5.0, p.top + 3.0
    items: list[Item] = [Path(points=((x, low), (x, high)), role=Role.CENTRE) for x in p.x]
    x = p.crossing_at
    if min(abs(x - v) for v in p.x) > 1.0:
        items.append(Path(points=((x, low), (x, high)), role=Role.CENTRE))
    return items


def _lengths(p: _Picture) -> None:
    """Girders, then pitches, then the whole, above one another."""
    y = p.top + 10.0
    for span in p.bridge.spans:
        frame = p.view.frame(span.axis.given.name)
        half = 0.5 * float(span.axis.length.value)
        a, b = ((frame.at + span.axis.slide + s * half) * p.scale for s in (-1.0, 1.0))
        top = float(span.heights.bearings[0].girder_top.value) * p.scale
        p.draught.level_dimension(
            (a, top), (b, top), f"{span.axis.given.name}: {p.say.of(span.axis.length)}", at=y
        )
    for span, a, b in zip(p.bridge.spans, p.x[:-1], p.x[1:], strict=True):
        p.draught.level_dimension(
            (a, p.top + 3.0), (b, p.top + 3.0), p.say.bare(float(span.axis.pitch.value), 2), at=y + 6.0
        )
    if len(p.bridge.spans) > 1:
        whole = sum(float(s.axis.pitch.value) for s in p.bridge.spans)
        p.draught.level_dimension(
            (p.x[0], p.top + 3.0), (p.x[-1], p.top + 3.0), p.say.bare(whole, 2), at=y + 12.0
        )
    left = p.x[0] - 2.5
    for k, word in enumerate(("girders", "pitch", "whole")[: 3 if len(p.bridge.spans) > 1 else 2]):
        p.draught.label(word, (left, y + 6.0 * k + 0.6), anchor="end", away=(-1.0, 0.0))


def _heights(p: _Picture) -> tuple[str, ...]:
    """Dimension the separation of the railheads and the clear height; return what they are in words."""
    say, d = p.say, p.draught
    crossing = bridged(p.alignments, p.bridge)
    lower = track_point(p.alignments.line(p.given.lower), crossing.centre.lower_station.value.reshape(1))
    low = float(lower.z.value[0]) * p.scale
    high = low + float(crossing.centre.separation.value) * p.scale
    clear = p.clear
    _, near, far = _free(p, low)
    notes = [
        f"Railhead over railhead at the crossing: {say.with_unit(crossing.centre.separation)}. This is not"
        " the clear height."
    ]
    soffit = high
    if clear is not None:
        foot = float(clear.lower.value) * p.scale
        soffit = foot + float(clear.height.value) * p.scale
        here = clear.at * p.scale
        d.upright_dimension((here, foot), (here, soffit), say.of(clear.height), at=near)
        notes.append(
            f"Clear height over the lower track's centre: {say.with_unit(clear.height)}, from its railhead"
            f" to the underside of {say.place(clear.part)}. Whether a train finds room there is for the"
            " clearance tables to say."
        )
    # its text stands where there is nothing behind it: below the soffit
    d.upright_dimension((p.crossing_at, low), (p.crossing_at, high), "", at=far)
    middle = (far - 0.6, 0.5 * (low + soffit))
    d.label(say.of(crossing.centre.separation), middle, away=(-1.0, 0.0), turn=0.5 * np.pi)
    return tuple(notes)


def _free(p: _Picture, low: float) -> tuple[float, float, float]:
    """Where a text and two upright dimensions stand clear of columns and caps, beside the crossing."""
    left, near = p.crossing_at - p.rails_reach - 2.5, p.crossing_at + p.rails_reach + 3.5
    far = near + 6.0
    names = [s.given.name for s in p.bridge.supports]
    for shape in p.bridge.shapes:
        if shape.part.rpartition("/")[0] not in names:
            continue
        seen = p.paper(shape.part, shape.vertices)
        ends = float(seen[:, 0].min()), float(seen[:, 0].max())
        if ends[0] > near + 3.0 or ends[1] < left - 3.0 or seen[:, 1].max() < low:
            continue
        if not shape.part.endswith("/cap"):
            near = max(near, ends[1] + 4.0)
            left = min(left, ends[0] - 1.5)
        far = max(far, ends[1] + 2.5)
    return left, near, max(far, near + 6.0)


def level_mark(at: Point, letter: str, *, hangs: bool = False) -> tuple[Item, ...]:
    """Return the mark of a level: a triangle that stands on it, with the letter of its row.

    Parameters
    ----------
    at : (float, float)
        A point on the level. [mm]
    letter : str
        Of the row that gives its height.
    hangs : bool
        The mark hangs beneath the level where there is no room above it.

    Returns
    -------
    tuple of Path or Text
        The mark.
    """
    x, y = at
    up = -1.0 if hangs else 1.0
    low = y - 1.7 if hangs else y + 0.4
    wide = fonts.width(letter, _LETTER, bold=True)
    ground = box((x + 1.1, low - 0.1), (x + 1.3 + wide, low + 1.5), fill=1.0)
    return (
        path([(x, y), (x + 0.9, y + up * 1.5), (x - 0.9, y + up * 1.5)], Role.FINE, closed=True, fill=1.0),
        replace(ground, stroked=False),
        Text(at=(x + 1.2, low), text=letter, size=_LETTER, bold=True),
    )


def _levels(p: _Picture) -> None:
    """Mark the railhead over each support, the top of its cap and its base."""
    d = p.draught
    heads = height_at(p.upper, np.array(p.view.stations))
    for k, (support, x) in enumerate(zip(p.bridge.supports, p.x, strict=True)):
        d.add(level_mark((x, float(heads[k]) * p.scale), "R"))
        parts = [s for s in p.bridge.shapes if s.part.rpartition("/")[0] == support.given.name]
        wide = np.concatenate([p.paper(s.part, s.vertices) for s in parts if s.part.endswith("/cap")])
        out = 1.0 if k == len(p.x) - 1 else -1.0
        edge = float(wide[:, 0].max() if out > 0.0 else wide[:, 0].min())
        top = float(support.cap_top.value) * p.scale
        inner = 0 < k < len(p.x) - 1  # a girder's underside is close above
        if frames_in(support):
            d.add(level_mark((x + 1.6, top), "C", hangs=True))
        else:
            d.add([Path(points=((edge + out * 0.5, top), (edge + out * 5.2, top)), role=Role.DIMENSION)])
            d.add(level_mark((edge + out * (2.0 if out > 0.0 else 4.2), top), "C", hangs=inner))
        feet = np.concatenate([p.paper(s.part, s.vertices) for s in parts if "/cap" not in s.part])
        low = feet[feet[:, 1] < p.base + 0.25 * (top - p.base)]
        edge = float(low[:, 0].max() if out > 0.0 else low[:, 0].min())
        cut = support.cuts[0]
        d.add(level_mark((edge + out * (2.0 if out > 0.0 else 4.2), float(cut.base.value) * p.scale), "B"))


def _table(p: _Picture) -> None:
    """Set the names of the supports and their heights beneath the picture, a row a surface."""
    say, d = p.say, p.draught
    y = p.base - 9.0
    heads = track_point(p.upper, np.array(p.view.stations)).z
    rows: list[tuple[str, list[list[str]]]] = [
        ("", [[s.given.name] for s in p.bridge.supports]),
        ("along the line", [[say.bare(s.station)] for s in p.bridge.supports]),
        ("R  railhead", [[say.of(heads[k])] for k in range(len(p.x))]),
    ]
    for side in ("left", "right"):
        cells = []
        for support in p.bridge.supports:
            mine = [b for b in p.bridge.bearings if b.support == support.given.name and b.side == side]
            cells.append(["frames in"] if frames_in(support) else [say.of(b.seat) for b in mine])
        rows.append((f"seat, {say.side(side)}", cells))
    rows.append(("C  top of cap", [[say.of(s.cap_top)] for s in p.bridge.supports]))
    rows.append(("B  base", [[say.of(c.base) for c in _in_order(p, s)] for s in p.bridge.supports]))
    left = p.x[0] - BEYOND
    for row, (name, cells) in enumerate(rows):
        level = y - _ROW * (row + (0.6 if row > 1 else 0.0))
        d.label(name, (left, level), anchor="end", away=(-1.0, 0.0))
        for x, texts in zip(p.x, cells, strict=True):
            if len(texts) == 1:
                d.label(texts[0], (x, level), away=(0.0, -1.0), bold=row == 0)
                continue
            d.label(texts[0], (x - 1.0, level), anchor="end", away=(-1.0, 0.0))
            d.label(texts[1], (x + 1.0, level), anchor="start", away=(1.0, 0.0))
            d.add([Path(points=((x, level - 0.7), (x, level + 2.1)), role=Role.DIMENSION)])
    under = y - 1.6 * _ROW + 0.1
    d.add([Path(points=((left - 24.0, under), (p.x[-1] + BEYOND, under)), role=Role.DIMENSION)])


def _in_order(p: _Picture, support: FittedSupport) -> list[Cut]:
    """Return a support's shafts as they stand in the picture, from left to right."""
    frame = p.view.frame(support.given.name)
    both = zip(support.footprint.columns, support.cuts, strict=True)
    placed = [(float(frame.place(c.value.reshape(1, 2))[0, 0]), k, cut) for k, (c, cut) in enumerate(both)]
    return [cut for *_, cut in sorted(placed, key=lambda t: t[:2])]


def _ends(p: _Picture) -> None:
    """Say which way is which, and what the lower track is."""
    say, d = p.say, p.draught
    first, last = p.view.stations[0] - BEYOND / p.scale, p.view.stations[-1] + BEYOND / p.scale
    ends = height_at(p.upper, np.array([first, last])) * p.scale
    d.label(f"to {say.words.start}", (p.x[0] - BEYOND, float(ends[0]) + 2.5), anchor="start", bold=True)
    d.label(f"to {say.words.finish}", (p.x[-1] + BEYOND, float(ends[1]) + 2.5), anchor="end", bold=True)
    crossing = bridged(p.alignments, p.bridge)
    lower = track_point(p.alignments.line(p.given.lower), crossing.centre.lower_station.value.reshape(1))
    rail = float(lower.z.value[0]) * p.scale
    left = _free(p, rail)[0]
    d.label(f"{p.given.lower}, railhead", (left, rail + 0.9), anchor="end", away=(-1.0, 0.0))
    d.label(say.of(lower.z[0]), (left, rail - 2.7), anchor="end", away=(-1.0, 0.0))
