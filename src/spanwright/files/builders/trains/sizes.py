"""The errors of a vehicle's sizes as base inputs: by the tool that measured them, or the handbook's doubt."""

from __future__ import annotations

import numpy as np

from spanwright.clearance.vehicles import Body, VehicleInputs
from spanwright.estimation.inputs import Input
from spanwright.files.builders.context import Context
from spanwright.files.builders.tools import NO_SOURCE, Measure
from spanwright.files.builders.trains.likened import Likened
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.job import Vehicle as VehicleTable
from spanwright.files.source import Keys
from spanwright.handbook.vehicles import DOUBTS


def size_inputs(
    ctx: Context, keys: Keys, table: VehicleTable, bodies: tuple[Body, ...], model: Likened | None
) -> VehicleInputs:
    """Add the errors of the sizes: value 0, the doubt of the tool or of the handbook, or the one given.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where the vehicle stands.
    table : VehicleTable
        Its table.
    bodies : tuple of Body
        Its bodies.
    model : Likened or None
        The vehicle of the handbook that it is like.

    Returns
    -------
    VehicleInputs
        The ids.

    Raises
    ------
    InputError
        If sizes were measured and no tool is named, or one that measures angles.
    """
    corners = np.vstack([p.section for b in bodies for p in b.prisms])
    sizes = {
        "width": float(np.ptp(corners[:, 0])),
        "height": float(corners[:, 1].max()),
        "length": max(b.front - b.rear for b in bodies),
        "trucks": max(b.truck_spacing for b in bodies),
    }
    ids = {}
    for key, size in sizes.items():
        measured = model is None or key in _measured(table)
        own: Quantity | None = getattr(table.sd, key)
        if own is not None:
            sd = ctx.doubt((*keys, "sd", key), own, Measure.LENGTH)
        else:
            sd = _by_tool(ctx, keys, table, size) if measured else DOUBTS[key]
        how = f"by {table.by}" if table.by and measured else f"taken from the handbook ({NO_SOURCE})"
        item = Input(
            id=f"vehicles/{table.name}/{key}",
            value=0.0,
            sd=sd,
            unit="mm",
            label=f"error of the {key} of {table.name}, {how}",
            kind="size",
            remedy="measure it again" if measured else "measure the model",
        )
        ids[key] = ctx.add((*keys, "name"), item)
    return VehicleInputs(width=ids["width"], height=ids["height"], length=ids["length"], trucks=ids["trucks"])


def _measured(table: VehicleTable) -> set[str]:
    """Which sizes the builder gives although the vehicle is like one of the handbook."""
    found = {key for key in ("length", "trucks") if getattr(table, key) is not None}
    whole = any(getattr(table, key) is not None for key in ("outline", "polygon", "shadow", "sections"))
    five = table.five
    if whole or (five is not None and five.height is not None):
        found.add("height")
    if whole or (five is not None and {five.foot, five.waist, five.eaves, five.roof} != {None}):
        found.add("width")
    return found | ({"length"} if table.sections is not None else set())


def _by_tool(ctx: Context, keys: Keys, table: VehicleTable, size: float) -> float:
    if table.by is None:
        raise ctx.source.error(
            keys,
            "this vehicle does not say what it was measured with",
            code="JO017",
            value=table.name,
            limit='such as by = "caliper"',
            hint="Add by, or take the sizes from the handbook with like and no sizes of your own",
        )
    tool = ctx.tool((*keys, "by"), table.by)
    if tool.measure is Measure.ANGLE:
        raise ctx.source.error(
            (*keys, "by"), "this tool measures angles, not sizes", code="JO011", value=table.by
        )
    return float(np.hypot(tool.sd, tool.zero)) * (size if tool.measure is Measure.SHARE else 1.0)
