"""What is made: the board that is opened, settings of the parts, and the printer."""

from __future__ import annotations

import math
from typing import Any

from spanwright.alignment.given import LineInput
from spanwright.drawings.printer import Printer
from spanwright.errors import InputError
from spanwright.files.builders import sizes
from spanwright.files.builders.context import Context
from spanwright.files.builders.structures import refuse_without_bridge, unit_names
from spanwright.files.builders.tools import Measure
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.job import Job
from spanwright.files.schema.job import Obstruction as ObstructionTable
from spanwright.files.schema.job import Subroadbed as SubroadbedTable
from spanwright.files.schema.job import Ties as TiesTable
from spanwright.files.source import Keys
from spanwright.parts.given import LaidTies, Obstruction, PartsInput, Subroadbed

# Common practice, no source: what holds where the file does not say.
KERF = 1.0  # mm: a jigsaw's or keyhole saw's cut
LEAN = math.radians(2.0)  # a saw led by hand
ROOM = 3.0  # mm beside the bridge
SLOT_ROOM = 2.0  # mm, both sides of a rail head together
OBSTRUCTION = 3.0  # mm: how well the place of a thing under a board is known
#: What the builder's rule shows: distance of the ordinates, and of a pilot hole from its rail. [mm]
EVERY = {"mm": 25.0, "inch": 25.4}
WHOLE = {"mm": 1.0, "inch": 25.4 / 16.0}
MOST_LEAN = math.radians(30.0)
MOST_THICK = 100.0  # mm: more is no board that is sawn under track
LEAST_HAND, MOST_HAND = 20.0, 300.0  # mm: a child's fist sideways, and more than an arm wants
MOST_TIE = 6.0  # times both rails: longer is no tie (common practice, no source)
MOST_WIDE = {"kerf": 10.0, "room": 100.0, "slot": 25.0}  # mm


def build_parts(ctx: Context, job: Job, lines: tuple[LineInput, ...]) -> PartsInput | None:
    """Return what the parts stage is asked, if the job has a bridge.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.
    lines : tuple of LineInput
        The lines, as they were built.

    Returns
    -------
    PartsInput or None
        None if the file holds no ``[bridge]``.

    Raises
    ------
    InputError
        If something in it cannot be meant, or the tables stand without a bridge.
    """
    if job.bridge is None:
        refuse_without_bridge(ctx, job, ("subroadbed", "parts"))
        return None
    found: dict[str, Any] = {}
    if job.parts is not None:
        for key in ("tolerance", "hand"):
            if (written := getattr(job.parts, key)) is not None:
                found[key] = ctx.thickness(("parts", key), written)
        if not LEAST_HAND <= found.get("hand", LEAST_HAND) <= MOST_HAND:
            raise ctx.source.error(
                ("parts", "hand"),
                "no hand needs so much or so little room",
                code="JO086",
                value=job.parts.hand,
                limit=f"{LEAST_HAND:g} to {MOST_HAND:g} mm",
                hint="Look for another unit",
            )
        most = ctx.thickness(("bridge", "packing", "most"), job.bridge.packing.most)
        if found.get("tolerance", 0.0) >= most:
            raise ctx.source.error(
                ("parts", "tolerance"),
                "a seat that may be off by so much needs no packing at all",
                code="JO086",
                value=job.parts.tolerance,
                limit=f"less than the thickest packing, {most:g} mm",
                hint="Look for another unit",
            )
    if job.subroadbed is not None:
        (upper,) = (line for line in lines if line.name == job.bridge.upper)
        found["subroadbed"] = _subroadbed(ctx, job.subroadbed, upper)
    return PartsInput(units=unit_names(ctx, job), **found)


def build_printer(ctx: Context, job: Job) -> Printer:
    """Return the builder's printer; one that prints true on A4 if the file does not say.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.

    Returns
    -------
    Printer
        Paper and measured bars.

    Raises
    ------
    InputError
        If a bar is too far off to have been printed at full size.
    """
    table = job.printer
    if table is None:
        return Printer()
    found = Printer(paper=table.paper)
    for key in ("across", "down"):
        written = getattr(table, key)
        if written is None:
            continue
        keys: Keys = ("printer", key)
        bars = {"across": found.across, "down": found.down, key: ctx.thickness(keys, written)}
        try:
            found = Printer(paper=table.paper, **bars)
        except InputError as error:
            raise ctx.source.error(
                keys, error.what, code=error.code, value=written, limit=error.limit, hint=error.hint
            ) from None
    return found


def _subroadbed(ctx: Context, table: SubroadbedTable, upper: LineInput) -> Subroadbed:
    keys: Keys = ("subroadbed",)
    head = sizes.mean(ctx, upper.rail_head)
    rails = sizes.mean(ctx, upper.gauge) + 2.0 * head
    edges = _edges(ctx, (*keys, "edge"), table.edge, rails)

    def length(key: str, default: float) -> float:
        written = getattr(table, key)
        found = default if written is None else ctx.length((*keys, key), written, least=0)
        if found > MOST_WIDE[key]:
            raise ctx.source.error(
                (*keys, key),
                "so wide a cut, slot or room beside a bridge cannot be meant",
                code="JO086",
                value=written,
                limit=f"{MOST_WIDE[key]:g} mm at most",
                hint="Look for another unit",
            )
        return found

    slot = length("slot", head + SLOT_ROOM)
    if slot <= head:
        raise ctx.source.error(
            (*keys, "slot"),
            "no rail comes through this slot",
            code="JO086",
            value=table.slot,
            limit=f"more than the rail head, {head:g} mm",
        )
    here: Keys = (*keys, "thickness")
    label = "thickness of board and roadbed"
    thickness = sizes.measured(ctx, here, table.thickness, "subroadbed/thickness", label=label, by=table.by)
    if sizes.mean(ctx, thickness) > MOST_THICK:
        raise ctx.source.error(
            here,
            "this board is too thick to be sawn under track",
            code="JO086",
            value=sizes.as_read(table.thickness),
            limit=f"{MOST_THICK:g} mm at most",
            hint="Look for another unit",
        )
    return Subroadbed(
        thickness=thickness,
        kerf=length("kerf", KERF),
        lean=_lean(ctx, (*keys, "lean"), table.lean),
        room=length("room", ROOM),
        slot=slot,
        ties=_ties(ctx, (*keys, "ties"), table.ties, rails),
        edge_left=edges[True],
        edge_right=edges[False],
        pilots=_pilots(ctx, (*keys, "pilots"), table.pilots, upper),
        every=EVERY[ctx.unit],
        whole=WHOLE[ctx.unit],
        obstructions=_obstructions(ctx, (*keys, "obstructions"), table.obstructions, upper),
    )


def _lean(ctx: Context, keys: Keys, written: Quantity | None) -> float:
    if written is None:
        return LEAN
    lean = ctx.angle(keys, written)
    if not 0.0 <= lean <= MOST_LEAN:
        raise ctx.source.error(
            keys,
            "a blade does not lean so far",
            code="JO086",
            value=written,
            limit=f"0 to {math.degrees(MOST_LEAN):g} deg",
        )
    return lean


def _ties(ctx: Context, keys: Keys, table: TiesTable | None, rails: float) -> LaidTies | None:
    if table is None:
        return None
    length, width, pitch = (
        ctx.thickness((*keys, key), getattr(table, key)) for key in ("length", "width", "pitch")
    )
    if length <= rails:
        raise ctx.source.error(
            (*keys, "length"),
            "this tie does not reach under both rails",
            code="JO086",
            value=table.length,
            limit=f"more than {rails:.3g} mm",
        )
    if length > MOST_TIE * rails:
        raise ctx.source.error(
            (*keys, "length"),
            "this tie is too long to be meant",
            code="JO086",
            value=table.length,
            limit=f"{MOST_TIE * rails:.3g} mm at most",
            hint="Look for another unit",
        )
    if width >= pitch:
        raise ctx.source.error(
            (*keys, "pitch"),
            "these ties leave no gap between them",
            code="JO086",
            value=table.pitch,
            limit=f"more than their width, {width:g} mm",
            hint="pitch counts from middle to middle",
        )
    return LaidTies(length=length, width=width, pitch=pitch)


def _edges(ctx: Context, keys: Keys, table: dict[str, Quantity], rails: float) -> dict[bool, float]:
    """Return how far the board reaches to the left (True) and to the right of the track's centre."""
    found = {True: math.inf, False: math.inf}
    for word, written in table.items():
        is_left = ctx.side((*keys, word), word)
        reach = ctx.length((*keys, word), written)
        if reach <= 0.5 * rails:
            raise ctx.source.error(
                (*keys, word),
                "this board ends under a rail",
                code="JO086",
                value=written,
                limit=f"more than {0.5 * rails:.3g} mm, from the track's centre",
            )
        found[is_left] = reach
    return found


def _pilots(ctx: Context, keys: Keys, names: tuple[str, ...], upper: LineInput) -> tuple[str, ...]:
    for k, name in enumerate(names):
        _own_mark(ctx, (*keys, k), name, upper)
    if names and (len(names) != 2 or names[0] == names[1]):
        raise ctx.source.error(
            keys,
            "a pattern is keyed by two pilot holes",
            code="JO085",
            value=", ".join(names),
            limit="two different marks, or none to have them chosen",
        )
    return tuple(sorted(names, key=upper.marks.index))


def _own_mark(ctx: Context, keys: Keys, name: str, upper: LineInput) -> str:
    what = f"this is not a mark of the line {upper.name}, which is on the board"
    return ctx.choice(keys, name, upper.marks, what=what, code="JO084")


def _obstructions(
    ctx: Context, keys: Keys, tables: tuple[ObstructionTable, ...], upper: LineInput
) -> tuple[Obstruction, ...]:
    found: list[Obstruction] = []
    for n, table in enumerate(tables):
        here: Keys = (*keys, n)
        name = ctx.name((*here, "name"), table.name)
        if name in [o.name for o in found]:
            raise ctx.source.error((*here, "name"), "this name is used twice", code="JO016", value=name)
        sd = OBSTRUCTION if table.sd is None else ctx.doubt((*here, "sd"), table.sd, Measure.LENGTH)
        ends = {ctx.words.finish: True, ctx.words.start: False}
        sides = {ctx.words.left: True, ctx.words.right: False}
        found.append(
            Obstruction(
                name=name,
                mark=_own_mark(ctx, (*here, "mark"), table.mark, upper),
                along=reaches(ctx, (*here, "along"), table.along, ends),
                across=reaches(ctx, (*here, "across"), table.across, sides),
                sd=sd,
            )
        )
    return tuple(found)


def reaches(
    ctx: Context, keys: Keys, table: dict[str, Quantity], ways: dict[str, bool]
) -> tuple[float, float]:
    """Return from where to where a thing reaches, counted in the way that is True.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where it is written.
    table : dict
        Reach by word, such as ``{ aisle = "22", wall = "-5" }``.
    ways : dict
        The two words; True for the one that counts positive.

    Returns
    -------
    tuple of float
        From and to. [mm]

    Raises
    ------
    InputError
        If a word is not known, one is missing, or the thing reaches nowhere.
    """
    found = {}
    for word, written in table.items():
        ctx.choice((*keys, word), word, ways, what="this way is not known here", code="JO015")
        found[ways[word]] = ctx.length((*keys, word), written)
    if len(found) != 2:
        raise ctx.source.error(
            keys,
            "both ways are needed here",
            code="JO056",
            value=", ".join(table),
            limit="{ " + ", ".join(f'{word} = "..."' for word in ways) + " }",
        )
    if found[True] <= -found[False]:
        raise ctx.source.error(
            keys,
            "this thing reaches nowhere",
            code="JO083",
            value=", ".join(f"{word} {written}" for word, written in table.items()),
            limit="two reaches that together are more than 0",
            hint="A reach is negative where the thing begins only on the other side",
        )
    return -found[False], found[True]
