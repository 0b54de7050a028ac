"""The builder's shelf of sheets, and the limits that the railhead over the bridge must keep."""

from __future__ import annotations

import math

from spanwright.files.builders import sizes
from spanwright.files.builders.context import Context
from spanwright.files.builders.structures import refuse_without_bridge, unit_names
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.job import Job
from spanwright.files.schema.job import Shelf as ShelfTable
from spanwright.files.source import Keys
from spanwright.packing.shelf import (
    LAYERS,
    MOST_LAYERS,
    MOST_SHEETS,
    Limits,
    PackingInput,
    Sheet,
    Shelf,
)

# Common practice, no source: what holds where the file does not say.
GRADE_CHANGE = 0.01
#: At full size; divided by the ratio and rounded to a hundredth of a millimetre. [mm]
TWIST_FULL, STEP_FULL, KNOWN_FULL = 16.0, 40.0, 32.0
#: A change of grade beyond this throws trains off, whatever the scale. [1]
MOST_GRADE_CHANGE = 0.1
#: A railhead is not let off its height by more than this share of the gauge. [1]
MOST_OFF = 0.25
#: Thicker sheet is no packing, a thicker glue line no glue line; farther off is not near. [mm]
MOST_THICK, MOST_GLUE, MOST_NEAR = 10.0, 0.5, 0.5


def build_packing(ctx: Context, job: Job, *, gauge: float) -> PackingInput | None:
    """Return what the packing stage is asked, if the job has a bridge.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.
    gauge : float
        Track gauge. [mm]

    Returns
    -------
    PackingInput or None
        None if the file holds no ``[bridge]``.

    Raises
    ------
    InputError
        If something in it cannot be meant, or the tables stand without a bridge.
    """
    if job.bridge is None:
        refuse_without_bridge(ctx, job, ("shelf", "profile"))
        return None
    shelf = _shelf(ctx, job.shelf) if job.shelf is not None else None
    return PackingInput(limits=_limits(ctx, job, gauge), shelf=shelf, units=unit_names(ctx, job))


def _limits(ctx: Context, job: Job, gauge: float) -> Limits:
    table = job.profile

    def off(key: str, full: float) -> float:
        written = getattr(table, key) if table else None
        if written is None:
            return max(round(full / float(ctx.scale), 2), 0.01)
        found = ctx.thickness(("profile", key), written)
        if found > MOST_OFF * gauge:
            raise ctx.source.error(
                ("profile", key),
                "no train stays on a railhead that may be so far off",
                code="JO087",
                value=written,
                limit=f"{MOST_OFF * gauge:.2g} mm at most, a quarter of the gauge",
                hint="Look for another unit",
            )
        return found

    return Limits(
        grade_change=_grade_change(ctx, table.grade_change if table else None),
        twist=off("twist", TWIST_FULL),
        step=off("step", STEP_FULL),
        known=off("known", KNOWN_FULL),
    )


def _grade_change(ctx: Context, written: Quantity | None) -> float:
    if written is None:
        return GRADE_CHANGE
    keys: Keys = ("profile", "grade_change")
    found = math.tan(ctx.angle(keys, written))
    if not 0.0 < found <= MOST_GRADE_CHANGE:
        raise ctx.source.error(
            keys,
            "this change of grade cannot be meant",
            code="JO087",
            value=written,
            limit=f"more than 0, {100 * MOST_GRADE_CHANGE:g} % at most",
            hint='Write it as "1 %"',
        )
    return found


def _shelf(ctx: Context, table: ShelfTable) -> Shelf:
    keys: Keys = ("shelf",)
    if len(table.sheets) > MOST_SHEETS:
        raise ctx.source.error(
            (*keys, "sheets"),
            "these are more sheets than can be gone through",
            code="JO088",
            value=len(table.sheets),
            limit=f"{MOST_SHEETS} at most",
            hint="Leave out those that you would not use under a shoe",
        )
    layers = LAYERS if table.layers is None else table.layers
    if not 1 <= layers <= MOST_LAYERS:
        raise ctx.source.error(
            (*keys, "layers"),
            "so many layers under one shoe cannot be meant",
            code="JO088",
            value=table.layers,
            limit=f"1 to {MOST_LAYERS}",
        )
    sheets: list[Sheet] = []
    for n, entry in enumerate(table.sheets):
        here: Keys = (*keys, "sheets", n)
        name = ctx.name((*here, "name"), entry.name)
        if name in [s.name for s in sheets]:
            raise ctx.source.error((*here, "name"), "this name is used twice", code="JO016", value=name)
        label = f"thickness of {name}"
        thickness = sizes.measured(
            ctx, (*here, "thickness"), entry.thickness, f"shelf/{name}", label=label, by=table.by
        )
        if (thick := sizes.mean(ctx, thickness)) > MOST_THICK:
            raise ctx.source.error(
                (*here, "thickness"),
                "this sheet is too thick for packing",
                code="JO088",
                value=sizes.as_read(entry.thickness),
                limit=f"{MOST_THICK:g} mm at most, it reads as {thick:g} mm",
                hint="Look for another unit",
            )
        sheets.append(Sheet(name=name, thickness=thickness, count=entry.count))
    glue = None
    if table.glue is not None:
        glue = sizes.measured(
            ctx, (*keys, "glue"), table.glue, "shelf/glue line", label="one glue line", by=table.by
        )
        if sizes.mean(ctx, glue) > MOST_GLUE:
            raise ctx.source.error(
                (*keys, "glue"),
                "so thick a glue line cannot be meant",
                code="JO088",
                value=sizes.as_read(table.glue),
                limit=f"{MOST_GLUE:g} mm at most",
                hint="Look for another unit",
            )
    near = 0.0 if table.near is None else ctx.length((*keys, "near"), table.near, least=0)
    if near > MOST_NEAR:
        raise ctx.source.error(
            (*keys, "near"),
            "packing that may be so far off saves layers and rocks",
            code="JO088",
            value=table.near,
            limit=f"{MOST_NEAR:g} mm at most",
            hint="Look for another unit",
        )
    return Shelf(sheets=tuple(sheets), glue=glue, layers=layers, near=near)
