"""The work that is done: which supports are cut, and readings of the plan's own numbers."""

from __future__ import annotations

import math

from spanwright.files.builders.context import Context
from spanwright.files.builders.tools import Measure, Tool, doubt
from spanwright.files.schema.job import Job
from spanwright.files.schema.job import Measured as MeasuredTable
from spanwright.files.source import Keys
from spanwright.measured.given import Made, Measured, PartState
from spanwright.structures.given import Standing, StructuresInput, SupportKind

LONGEST = 2000.0  # mm: no shaft of a model is longer (common practice, no source)


def build_made(ctx: Context, job: Job, structures: StructuresInput | None) -> tuple[Made, ...]:
    """Return the entries of ``[[made]]``.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.
    structures : StructuresInput or None
        The bridge.

    Returns
    -------
    tuple of Made
        In the order of the file.

    Raises
    ------
    InputError
        If an entry names no support, or says a length too many or too few.
    """
    supports = {s.name: s for s in structures.supports} if structures else {}
    found: list[Made] = []
    for n, table in enumerate(job.made):
        keys: Keys = ("made", n)
        part = ctx.choice(
            (*keys, "part"), table.part, supports, what="there is no support of this name", code="JO092"
        )
        if part in [one.part for one in found]:
            raise ctx.source.error(
                (*keys, "part"), "this support stands here twice", code="JO092", value=part
            )
        lengths = tuple(ctx.thickness((*keys, "cut_to", k), v) for k, v in enumerate(table.cut_to))
        for k, length in enumerate(lengths):
            if length > LONGEST:
                raise ctx.source.error(
                    (*keys, "cut_to", k),
                    "no shaft of a model is so long",
                    code="JO093",
                    value=table.cut_to[k],
                    limit=f"{LONGEST:g} mm at most",
                    hint="Look for another unit",
                )
        shafts = 2 if supports[part].kind is SupportKind.STRADDLE_BENT else 1
        if len(lengths) != shafts:
            raise ctx.source.error(
                (*keys, "cut_to"),
                "each shaft of this support has one length",
                code="JO093",
                value=list(table.cut_to),
                limit="left column, right column" if shafts == 2 else "one length",
                hint="Write what the pattern said it was to be cut to, not what it measures now",
            )
        station = None if table.station is None else ctx.length((*keys, "station"), table.station)
        found.append(Made(part=part, state=PartState(table.state), lengths=lengths, station=station))
    return tuple(found)


def standing(made: tuple[Made, ...]) -> tuple[Standing, ...]:
    """Return what the structures stage has to hold of the supports that are there.

    Parameters
    ----------
    made : tuple of Made
        All entries.

    Returns
    -------
    tuple of Standing
        Of those that were neither taken out nor spoiled.
    """
    return tuple(
        Standing(support=m.part, lengths=m.lengths, station=m.station) for m in made if m.state.stands
    )


def build_measured(ctx: Context, job: Job) -> tuple[Measured, ...]:
    """Return the readings of ``[[measured]]``.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.

    Returns
    -------
    tuple of Measured
        In the order of the file, which is that in which they were taken; those of former parts are left out.

    Raises
    ------
    InputError
        If one of them cannot be read; which number it means is known only once the plan is derived.
    """
    return tuple(_measured(ctx, n, table) for n, table in enumerate(job.measured) if not table.former)


def _measured(ctx: Context, n: int, table: MeasuredTable) -> Measured:
    keys: Keys = ("measured", n)
    tool = ctx.tool((*keys, "by"), table.by, of_reading=True)
    if tool.measure is Measure.SHARE:  # one of the builder's own
        raise ctx.source.error(
            (*keys, "by"), "nothing is measured with this", code="JO094", value=table.by, hint="Name a tool"
        )
    angle = tool.measure is Measure.ANGLE
    value = ctx.angle((*keys, "is"), table.is_) if angle else ctx.length((*keys, "is"), table.is_)
    scale, zero = ctx.tool_errors(tool)
    errors = tuple((key, factor) for key, factor in ((scale, value), (zero, 1.0)) if key)
    return Measured(
        id=f"measured {n + 1}, {table.what}",
        place=n,
        number=table.what,
        above=table.above,
        value=value,
        sd=_sd(ctx, keys, table, tool),
        tool=table.by,
        tool_errors=errors,
        tool_sd=math.hypot(tool.scale * value, tool.zero),
        certain=table.certain,
        unit="rad" if angle else "mm",
    )


def _sd(ctx: Context, keys: Keys, table: MeasuredTable, tool: Tool) -> float:
    if table.sd is None:
        return tool.sd
    measure, sd = ctx.placed((*keys, "sd"), lambda: doubt(table.sd, ctx.unit))  # type: ignore[arg-type]
    if measure is not tool.measure:
        raise ctx.source.error(
            (*keys, "sd"),
            f"this tool measures {tool.measure.value}, its doubt is of another kind",
            code="JO011",
            value=table.sd,
        )
    return sd
