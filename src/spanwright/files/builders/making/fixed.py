"""Things that stand fast beside a track: ties, ballast, risers, wires."""

from __future__ import annotations

from spanwright.alignment.given import LineInput
from spanwright.clearance.fixed.things import FixedThing
from spanwright.files.builders.context import Context
from spanwright.files.builders.making.parts import reaches
from spanwright.files.builders.tools import Measure
from spanwright.files.schema.job import Job
from spanwright.files.source import Keys

SD = 1.0  # mm: how well the faces of a thing beside a track are known (common practice, no source)
MOST_ROOM = 100.0  # mm: more is another unit (common practice, no source)
ROOM = 0.5  # mm between a part and a thing that stands fast (common practice, no source)


def build_fixed(ctx: Context, job: Job, lines: tuple[LineInput, ...]) -> tuple[FixedThing, ...]:
    """Return the things of ``[[fixed]]``.

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
    tuple of FixedThing
        In the order of the file.

    Raises
    ------
    InputError
        If one of them cannot be meant.
    """
    known = {line.name: line for line in lines}
    ends = {ctx.words.finish: True, ctx.words.start: False}
    sides = {ctx.words.left: True, ctx.words.right: False}
    found: list[FixedThing] = []
    for n, table in enumerate(job.fixed):
        keys: Keys = ("fixed", n)
        name = ctx.name((*keys, "name"), table.name)
        if name in [thing.name for thing in found]:
            raise ctx.source.error((*keys, "name"), "this name is used twice", code="JO016", value=name)
        line = ctx.choice(
            (*keys, "line"), table.line, known, what="there is no line of this name", code="JO022"
        )
        what = f"this is not a mark of the line {line}"
        mark = ctx.choice((*keys, "mark"), table.mark, known[line].marks, what=what, code="JO084")
        low, high = (ctx.length((*keys, "height", k), v) for k, v in enumerate(table.height))
        if low >= high:
            raise ctx.source.error(
                (*keys, "height"),
                "this thing has no height",
                code="JO083",
                value=list(table.height),
                limit="from below to above, counted from the railhead up",
            )
        sd = SD if table.sd is None else ctx.doubt((*keys, "sd"), table.sd, Measure.LENGTH)
        room = ROOM if table.room is None else ctx.length((*keys, "room"), table.room, least=0)
        if room > MOST_ROOM:
            raise ctx.source.error(
                (*keys, "room"),
                "so wide a room beside a thing cannot be meant",
                code="JO086",
                value=table.room,
                limit=f"{MOST_ROOM:g} mm at most",
                hint="Look for another unit",
            )
        found.append(
            FixedThing(
                name=name,
                line=line,
                mark=mark,
                along=reaches(ctx, (*keys, "along"), table.along, ends),
                across=reaches(ctx, (*keys, "across"), table.across, sides),
                height=(low, high),
                sd=sd,
                room=room,
            )
        )
    return tuple(found)
