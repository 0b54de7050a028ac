"""The bridge as text: spans, the height of every bearing, cut sizes, room on the caps."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from spanwright.book.blocks import Block, Heading, heading, numbers, paragraph, table, texts
from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.job import Plan
from spanwright.structures.given import CapForm, SupportKind
from spanwright.structures.heights import Bearing
from spanwright.structures.numbers import FittedSpan
from spanwright.structures.spans import end_gap, jog, kink
from spanwright.structures.stage import Structures
from spanwright.structures.supports import Cut, FittedSupport

CAUTION = "CAUTION: measure before you cut. Clamp the work, cut away from your hand, wear eye protection."
_ABREAST = 4  # columns of numbers that find room side by side


def structures_text(plan: Plan, bridge: Structures, say: Speech) -> list[Block]:
    """Return all that the structures stage found, but its findings.

    Parameters
    ----------
    plan : Plan
        The plan.
    bridge : Structures
        Its bridge.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    count = len(bridge.bearings)
    lines: list[Block] = [f"{len(bridge.spans)} spans on {len(bridge.supports)} supports, {count} bearings."]
    lines += _spans(bridge, say)
    lines += _between(plan, bridge, say)
    lines += _supports(bridge, say)
    return lines + heights_text(bridge, say) + cuts_text(plan, bridge, say)


def _transposed(things: Sequence[str], rows: Iterable[tuple[str, Sequence[str]]], title: str) -> list[Block]:
    """Return a table with a column a thing, a few things at a time."""
    kept = list(rows)
    lines: list[Block] = []
    for first in range(0, len(things), _ABREAST):
        part = slice(first, first + _ABREAST)
        columns = (*texts(title, most=34), *numbers(*things[part], most=18))
        lines += [""] if first else []
        lines += table(columns, [(name, *cells[part]) for name, cells in kept])
    return lines


def _spans(bridge: Structures, say: Speech) -> list[Block]:
    lines = heading(f"Spans ({say.unit})")
    lines += paragraph(
        "The axis of a straight span is moved off the chord of the track until the track lies as far to"
        " one side"
        " of it as to the other.",
        indent=2,
    )
    kinds: tuple[tuple[str, Callable[[FittedSpan], str]], ...] = (
        ("pitch, support to support", lambda s: say.of(s.axis.pitch)),
        ("girder over all", lambda s: say.of(s.axis.length)),
        ("middle ordinate of the track", lambda s: say.sided(s.axis.middle_ordinate)),
        ("axis moved off the chord", lambda s: say.sided(s.axis.shift)),
        ("track farthest from the axis", lambda s: say.of(s.axis.worst_offset)),
        ("track above its ends at mid span", lambda s: say.of(s.heights.vertical_middle_ordinate)),
        ("would rock by, on seats that follow", lambda s: say.of(s.heights.rocks_by)),
        ("ties cut to", lambda s: say.bare(s.tie_length)),
    )
    names = [s.axis.given.name for s in bridge.spans]
    return lines + _transposed(
        names, [(name, [say_it(s) for s in bridge.spans]) for name, say_it in kinds], ""
    )


def _between(plan: Plan, bridge: Structures, say: Speech) -> list[Block]:
    if len(bridge.spans) < 2:
        return []
    lines = heading("Where two spans meet")
    rows = []
    for before, after in zip(bridge.spans[:-1], bridge.spans[1:], strict=True):
        turn = kink(before.axis, after.axis)
        gaps = [say.of(end_gap(before.axis, after.axis, sign, plan.inputs)) for sign in (1.0, -1.0)]
        rows.append(
            (
                after.axis.given.start,
                f"{say.angle(Derived(abs(turn.value), turn.jac))} to {say.towards(float(turn.value))}",
                *gaps,
                say.sided(jog(before.axis, after.axis)),
            )
        )
    columns = (
        *texts("at"),
        *numbers(
            "the axis turns by",
            f"end gap, {say.words.left} girders ({say.unit})",
            f"end gap, {say.words.right} girders ({say.unit})",
            f"the axes miss each other by ({say.unit})",
        ),
    )
    return lines + table(columns, rows)


def _supports(bridge: Structures, say: Speech) -> list[Block]:
    lines = heading(f"Supports ({say.unit})")
    rows = [
        (
            s.given.name,
            s.given.kind.value
            + (f", cap {s.given.form.value}" if s.given.kind is SupportKind.STRADDLE_BENT else ""),
            say.bare(s.station),
            f"x {say.of(s.footprint.x)}",
            f"y {say.of(s.footprint.y)}",
            say.of(s.cap_top),
        )
        for s in bridge.supports
    ]
    columns = (
        *texts("support", "kind"),
        *numbers("along the upper line", "middle of", "its cap", "top of cap"),
    )
    return lines + table(columns, rows)


def heights_text(bridge: Structures, say: Speech) -> list[Block]:
    """Return the height build-up at every bearing, a table a support.

    Parameters
    ----------
    bridge : Structures
        The bridge.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines = heading(f"Heights at every bearing ({say.unit}, above the datum)")
    lines += paragraph(
        "Read downward: from the railhead each layer comes off (a dap, the notch of the tie over the"
        " girder, is given"
        " back), to the seat that the shoe stands on. Packing is made last, to what is then measured. The"
        " seats of one"
        " span lie in one plane, so that it does not rock; where the track is twisted, the rest is taken"
        " up under the"
        " ties. Last row: the track's centre from the girder's centre, and to which side.",
        indent=2,
    )
    for support in bridge.supports:
        mine = [b for b in bridge.bearings if b.support == support.given.name]
        names = [f"{b.span} {say.side(b.side)}" for b in mine]
        lines += [Heading(title=f"{support.given.name} ({say.unit})", level=2)]
        lines += _transposed(names, _heights(support, mine, say), "")
        if _frames_in(support):
            lines += paragraph(
                "The girders frame into the face of this cap: the packing here is between the top of the"
                " cap and the"
                " level of the girder tops.",
                indent=2,
            )
    return lines


def _frames_in(support: FittedSupport) -> bool:
    return support.given.kind is SupportKind.STRADDLE_BENT and support.given.form is CapForm.LEVEL


def _heights(support: FittedSupport, bearings: list[Bearing], say: Speech) -> list[tuple[str, list[str]]]:
    """Return the rows of one support: every layer that any of its bearings has, in order."""
    packing = {s.bearing: s.packing for s in support.seats}
    rows = [("railhead over bearing", [say.of(b.railhead) for b in bearings])]
    for k, layer in enumerate(bearings[0].layers):
        name = _short(layer.name)
        if layer.name.startswith("girder "):
            rows.append(("= top of girder", [say.of(b.girder_top) for b in bearings]))
        if name == "dap":
            rows.append(("+ dap of the tie", [say.of(-b.layers[k].thickness) for b in bearings]))
        else:
            rows.append((f"- {name}", [say.of(b.layers[k].thickness) for b in bearings]))
    rows.append(("= seat", [say.of(b.seat) for b in bearings]))
    rows.append(("packing", [say.of(packing[b.id]) for b in bearings]))
    rows.append(("track beside girder", [say.sided(b.rail_over_girder) for b in bearings]))
    return rows


def _short(layer: str) -> str:
    """Name a layer without its side, which is in the heading, and short enough for a row."""
    short = {"twist taken up under the ties": "twist, under the ties"}
    return short.get(layer, layer.rpartition(" ")[0] if layer.startswith("girder ") else layer)


def cuts_text(plan: Plan, bridge: Structures, say: Speech) -> list[Block]:
    """Return what to cut and what room the shoes have.

    Parameters
    ----------
    plan : Plan
        The plan, for what the job wants.
    bridge : Structures
        The bridge.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    given = plan.job.structures
    if given is None:
        return []
    lines = heading(f"Cut sizes ({say.unit})")
    lines += paragraph(
        "A support that is glued down cannot be lowered, so each is cut low on purpose: by its doubt and"
        " by the"
        " thinnest packing. Packing then makes up the height.",
        indent=2,
    )
    lines += paragraph(CAUTION, indent=2)
    stocked = any(c.trimmed is not None for s in bridge.supports for c in s.cuts)
    titles = ["CUT TO", "just right would be", "cut low by", "base stands at"]
    columns = (*texts("piece"), *numbers(*titles, *(["comes off the kit's shaft"] if stocked else [])))
    standing = {s.support for s in given.standing}
    rows = [
        _cut(c, say, stocked=stocked, stands=s.given.name in standing)
        for s in bridge.supports
        for c in s.cuts
    ]
    lines += ["", *table(columns, rows)]
    lines += heading(f"Room on the caps ({say.unit})")
    lines += paragraph(
        f"Wanted: {say.plain(given.edge)} or more from a shoe to the edge of its cap; packing"
        f" {say.bare(given.packing.thinnest, 2)} to {say.plain(given.packing.most, 2)}.",
        indent=2,
    )
    seats = [_seat(s, k, say) for s in bridge.supports for k in range(len(s.seats))]
    columns = (*texts("bearing"), *numbers("shoe to edge", "packing", "to the next span's shoe"))
    return [*lines, "", *table(columns, seats)]


def _cut(cut: Cut, say: Speech, *, stocked: bool, stands: bool) -> tuple[str, ...]:
    """Return one row: what a shaft is to be cut to, or what it is where it is cut already."""
    cells = (
        say.place(cut.id),
        f"is {say.of(cut.built)}" if stands else say.cut(cut.length),
        say.of(cut.wanted),
        say.of(cut.wanted - (cut.built if stands else cut.length)),
        say.of(cut.base),
    )
    return (*cells, "-" if cut.trimmed is None else say.of(cut.trimmed)) if stocked else cells


def _seat(support: FittedSupport, number: int, say: Speech) -> tuple[str, str, str, str]:
    seat = support.seats[number]
    if seat.edge is None:
        edge = "frames in"
    elif float(seat.edge.value) < 0.0:
        edge = f"OVERHANGS {say.of(-seat.edge)}"
    else:
        edge = say.of(seat.edge)
    between = say.of(support.between) if support.between is not None and number == 0 else ""
    return say.place(seat.bearing), edge, say.of(seat.packing), between
