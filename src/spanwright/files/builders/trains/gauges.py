"""Gauges to lay along the lines: published ones by name, and the builder's own polygons."""

from __future__ import annotations

import numpy as np

from spanwright.clearance.gauges.given import Gauge
from spanwright.errors import InputError
from spanwright.files.builders.context import Context
from spanwright.files.schema.job import Job, OwnGauge
from spanwright.files.source import Keys, Plain, nearest
from spanwright.handbook.gauges import gauge, gauge_names


def build_gauges(ctx: Context, job: Job, *, track: float) -> tuple[Gauge, ...]:
    """Return the gauges of a job.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.
    track : float
        The job's track gauge. [mm]

    Returns
    -------
    tuple of Gauge
        The published ones in their order, then the builder's own.

    Raises
    ------
    InputError
        If a name is not known for this scale, a polygon cannot be meant, or a name stands twice.
    """
    found: dict[str, Gauge] = {}
    own = {g.name for g in job.gauges}
    for n, name in enumerate(job.clearance.gauges if job.clearance else ()):
        here: Keys = ("clearance", "gauges", n)
        if name in own:  # the builder's own are laid in any case
            continue
        _add(ctx, here, found, _published(ctx, here, name, track))
    for n, table in enumerate(job.gauges):
        _add(ctx, ("gauges", n, "name"), found, _own(ctx, ("gauges", n), table, job))
    return tuple(found.values())


def _add(ctx: Context, keys: Keys, found: dict[str, Gauge], one: Gauge) -> None:
    if one.id in found:
        raise ctx.source.error(keys, "this gauge stands here twice", code="JO091", value=one.id)
    found[one.id] = one


def _published(ctx: Context, keys: Keys, name: str, track: float) -> Gauge:
    try:
        return gauge(name, ctx.scale, track)
    except InputError as problem:
        names = gauge_names(ctx.scale, track)
        guess = nearest(name, names)
        raise ctx.source.error(
            keys,
            problem.what,
            code="JO091",
            value=name,
            limit=problem.limit,
            hint=f"Did you mean {guess!r}?" if guess else problem.hint,
        ) from None


def _own(ctx: Context, keys: Keys, table: OwnGauge, job: Job) -> Gauge:
    name = ctx.name((*keys, "name"), table.name)
    for m, line in enumerate(table.lines):
        ctx.choice((*keys, "lines", m), line, job.lines, what="there is no line of this name", code="JO022")
    here = (*keys, "polygon")
    corners = [
        [ctx.length((*here, k, 0), left), ctx.length((*here, k, 1), height)]
        for k, (left, height) in enumerate(table.polygon)
    ]
    try:
        return Gauge(
            id=name,
            polygon=np.array(corners, dtype=float).reshape(-1, 2),
            lines=table.lines,
            source="the builder's own",
            status="own",
            note=table.note,
        )
    except InputError as problem:
        shown = f"{len(corners)} corner{'s' if len(corners) != 1 else ''}"
        raise ctx.source.error(
            here, problem.what, code="JO091", value=Plain(shown), limit=problem.limit, hint=problem.hint
        ) from None
