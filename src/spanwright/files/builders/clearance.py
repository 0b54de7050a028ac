"""Clearance: the margins that are wanted, and which vehicles run on which line."""

from __future__ import annotations

from math import hypot

from spanwright.clearance.given import ClearanceInput, Run
from spanwright.clearance.witness import SearchSettings
from spanwright.files.builders.context import Context
from spanwright.files.builders.trains.gauges import build_gauges
from spanwright.files.builders.vehicles import build_vehicle
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.job import Job
from spanwright.files.source import Keys

#: Wanted gaps at full size, sideways and upwards, that give the margins by default. [mm]
#: Common practice, no source: 1.5 and 2 mm in 1:160.
SIDE_FULL = 240.0
ABOVE_FULL = 320.0
#: Gaps beyond this, and beyond three times the margins, are only said to be more. [mm]
REACH = 12.0
#: Other closest points up to this above the least gap are kept for the joint bound. [mm]
ALSO_WITHIN = 1.5


def default_margin(scale: float, full: float) -> float:
    """Return a margin of common practice (no source), to the tenth of a millimetre.

    Parameters
    ----------
    scale : float
        Full size over model size. [1]
    full : float
        The gap at full size. [mm]

    Returns
    -------
    float
        The gap on the model. [mm]
    """
    return round(full / scale, 1)


def _margin(ctx: Context, keys: Keys, written: Quantity | None, full: float) -> float:
    if written is None:
        return default_margin(float(ctx.scale), full)
    return ctx.length(keys, written, least=0)


def build_clearance(ctx: Context, job: Job, *, k: float, gauge: float) -> ClearanceInput | None:
    """Return what the clearance stage takes, if the job has vehicles or gauges.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.
    k : float
        Coverage factor. [1]
    gauge : float
        The job's gauge, against which a vehicle left at full size shows. [mm]

    Returns
    -------
    ClearanceInput or None
        None if the file names no vehicle and no gauge.

    Raises
    ------
    InputError
        If a vehicle or gauge cannot be meant, or margins are given without either.
    """
    if not job.vehicles and not job.gauges and not (job.clearance and job.clearance.gauges):
        if job.clearance is not None:
            raise ctx.source.error(
                ("clearance",),
                "there are margins but no vehicles",
                code="JO063",
                hint="Add [[vehicles]], or gauges to compare with",
            )
        return None
    table = job.clearance
    side = _margin(ctx, ("clearance", "margin", "side"), table.margin.side if table else None, SIDE_FULL)
    above = _margin(ctx, ("clearance", "margin", "above"), table.margin.above if table else None, ABOVE_FULL)
    runs = []
    names: list[str] = []
    for n, entry in enumerate(job.vehicles):
        keys: Keys = ("vehicles", n)
        if entry.name in names:
            raise ctx.source.error((*keys, "name"), "this name is used twice", code="JO016", value=entry.name)
        names.append(entry.name)
        vehicle = build_vehicle(ctx, keys, entry, gauge=gauge)
        for m, line in enumerate(entry.runs_on):
            here = (*keys, "runs_on", m)
            ctx.choice(here, line, job.lines, what="there is no line of this name", code="JO022")
            if line in entry.runs_on[:m]:
                raise ctx.source.error(here, "this line stands here twice", code="JO064", value=line)
            runs.append(Run(line=line, vehicle=vehicle))
    search = SearchSettings(reach=max(REACH, 3.0 * hypot(side, above)), also_within=ALSO_WITHIN)
    return ClearanceInput(
        runs=tuple(runs),
        margin_side=side,
        margin_above=above,
        k=k,
        search=search,
        gauges=build_gauges(ctx, job, track=gauge),
    )
