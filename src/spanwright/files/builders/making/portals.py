"""What stands around a track: tunnel mouths, portals, walls."""

from __future__ import annotations

from spanwright.alignment.given import LineInput
from spanwright.clearance.given import ClearanceInput
from spanwright.estimation.inputs import Size
from spanwright.files.builders import sizes
from spanwright.files.builders.context import Context
from spanwright.files.builders.making.parts import reaches
from spanwright.files.schema.job import Job
from spanwright.files.schema.job import Portal as PortalTable
from spanwright.files.source import Keys
from spanwright.structures.portals import Portal

THICKNESS = 5.0  # mm of what stands around an opening; no gap rests on it (common practice, no source)
PLACE = 1.0  # mm: how truly its place along the line is known (common practice, no source)
#: Without a top a wall goes up so many gauges, without a wall an overhang goes so many to each side; more
#: where the job has taller or wider vehicles. Common practice, no source.
HIGH, WIDE = 10.0, 5.0
FOOT = 0.25  # of the gauge: below the railhead a wall goes on; no vehicle comes so low


def build_portals(
    ctx: Context, job: Job, lines: tuple[LineInput, ...], clearance: ClearanceInput | None, *, gauge: float
) -> tuple[Portal, ...]:
    """Return the portals of ``[[portals]]``.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.
    lines : tuple of LineInput
        The lines, as they were built.
    clearance : ClearanceInput or None
        The vehicles: a wall without a top is higher than all of them.
    gauge : float
        The job's gauge. [mm]

    Returns
    -------
    tuple of Portal
        In the order of the file.

    Raises
    ------
    InputError
        If one of them cannot be meant.
    """
    taken = {part.name for part in job.supports} | {part.name for part in job.spans}
    prisms = [
        p.section for r in (clearance.runs if clearance else ()) for b in r.vehicle.bodies for p in b.prisms
    ]
    high = max([HIGH * gauge, *(2.0 * float(section[:, 1].max()) for section in prisms)])
    wide = max([WIDE * gauge, *(3.0 * float(abs(section[:, 0]).max()) for section in prisms)])
    found = []
    for number, table in enumerate(job.portals):
        keys: Keys = ("portals", number)
        name = ctx.name((*keys, "name"), table.name)
        if name in taken:
            raise ctx.source.error((*keys, "name"), "this name is used twice", code="JO016", value=name)
        taken.add(name)
        line, mark = _counted_from(ctx, keys, table, lines)
        _has_an_opening(ctx, keys, table)
        left, right = _clear(ctx, keys, table, name)
        ends = {ctx.words.finish: True, ctx.words.start: False}
        thick = THICKNESS if table.thickness is None else ctx.thickness((*keys, "thickness"), table.thickness)
        found.append(
            Portal(
                name=name,
                line=line,
                mark=mark,
                along=reaches(ctx, (*keys, "along"), table.along, ends),
                place=sizes.still_to_do(
                    ctx,
                    (*keys, "set_out"),
                    f"portals/{name}/place",
                    table.set_out,
                    default=PLACE,
                    label=f"where {name} stands along the line",
                    kind="setting out",
                ),
                left=left,
                right=right,
                height=_size(ctx, keys, table, "height", f"height of {name} above the railhead"),
                top=_size(ctx, keys, table, "top", f"top of {name} above the railhead"),
                thickness=thick,
                high=high,
                wide=wide,
                foot=FOOT * gauge,
            )
        )
    return tuple(found)


def _counted_from(
    ctx: Context, keys: Keys, table: PortalTable, lines: tuple[LineInput, ...]
) -> tuple[str, str]:
    """Return the line of a portal and the mark that it counts from, none on a designed line."""
    known = {line.name: line for line in lines}
    line = ctx.choice((*keys, "line"), table.line, known, what="there is no line of this name", code="JO022")
    if known[line].design is not None:
        if table.mark is not None:
            raise ctx.source.error(
                (*keys, "mark"),
                "a designed line has no marks: what stands beside it counts along from its start",
                code="JO099",
                value=table.mark,
                hint="Leave mark out",
            )
        return line, ""
    if table.mark is None:
        raise ctx.source.error(
            keys,
            "this portal does not say from which mark along counts",
            code="JO099",
            limit=f"mark = one of: {', '.join(known[line].marks)}",
        )
    what = f"this is not a mark of the line {line}"
    return line, ctx.choice((*keys, "mark"), table.mark, known[line].marks, what=what, code="JO084")


def _has_an_opening(ctx: Context, keys: Keys, table: PortalTable) -> None:
    if table.clear is None and table.height is None:
        raise ctx.source.error(
            keys,
            "this portal leaves no opening: it says no side and no height",
            code="JO098",
            limit=f'clear = {{ {ctx.words.left} = "...", {ctx.words.right} = "..." }}, or one, or height',
        )
    if table.top is not None and (table.clear is None or table.height is not None):
        raise ctx.source.error(
            (*keys, "top"),
            "only a wall without anything above the track has a top",
            code="JO098",
            value=sizes.as_read(table.top),
            hint="Leave top out, or height",
        )


def _size(ctx: Context, keys: Keys, table: PortalTable, key: str, label: str) -> Size | None:
    own = getattr(table, key)
    if own is None:
        return None
    return sizes.measured(ctx, (*keys, key), own, f"portals/{table.name}/{key}", label=label, by=table.by)


def _clear(ctx: Context, keys: Keys, table: PortalTable, name: str) -> tuple[Size | None, Size | None]:
    """Return the opening on the left and on the right; one size for both sides is one size."""
    label = f"track centre to the near face of {name}"
    here, key = (*keys, "clear"), f"portals/{name}/clear"
    if table.clear is None:
        return None, None
    if set(table.clear) == {"both"}:
        both = sizes.measured(ctx, here, table.clear["both"], key, label=label, by=table.by)
        return both, both
    found = {}
    for word, own in table.clear.items():
        is_left = ctx.side((*here, word), word)
        ids = f"{key}/{'left' if is_left else 'right'}"
        found[is_left] = sizes.measured(ctx, (*here, word), own, ids, label=f"{label}, {word}", by=table.by)
    return found.get(True), found.get(False)
