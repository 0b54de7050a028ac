"""Sizes and choices as base inputs: measured, still to be made, or free to move."""

from __future__ import annotations

import math

from spanwright.estimation.inputs import Input, Size
from spanwright.files.builders.context import Context
from spanwright.files.builders.tools import Measure, Tool, doubt, guessed
from spanwright.files.schema.base import Doubt
from spanwright.files.schema.base import Size as SizeTable
from spanwright.files.source import Keys

#: How a size's label says where it comes from, where "by" would not read well.
SAID_OF = {
    "to be cut": ", as it is to be cut",
    "to be built": ", as it is to be built",
    "nominal": ", nominal",
    "unknown": ", not measured",
}

#: Readings of one size may differ by this share of their mean; a larger difference is a slip of the
#: hand or of the unit. Common practice, no source. Sizes up to THIN are left alone: a rule shows no more.
SPREAD = 0.3
THIN = 1.0  # mm


def numbered(key: str, k: int) -> str:
    """Return the id of the k-th reading of the same thing.

    Parameters
    ----------
    key : str
        The id as written.
    k : int
        Number from 0.

    Returns
    -------
    str
        ``key``, ``key/2``, ``key/3`` ...
    """
    return key if k == 0 else f"{key}/{k + 1}"


def as_read(table: SizeTable) -> object:
    """Return the readings of a size as a message shows them.

    Parameters
    ----------
    table : SizeTable
        What was written.

    Returns
    -------
    object
        The reading if there is one, else the list.
    """
    return table.readings[0] if len(table.readings) == 1 else list(table.readings)


def free(ctx: Context, keys: Keys, key: str, *, value: float, label: str) -> str:
    """Add an input that may move, without doubt.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where it comes from.
    key : str
        Its id.
    value : float
        Its value now. [mm]
    label : str
        What it is.

    Returns
    -------
    str
        The id.
    """
    return ctx.add(keys, Input(id=key, value=value, sd=0.0, unit="mm", label=label, kind="may move"))


def still_to_do(
    ctx: Context, keys: Keys, key: str, table: Doubt | None, *, default: float, label: str, kind: str
) -> str:
    """Add an input of value 0: how truly something that is still to be done will come out.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where the table stands or would stand.
    key : str
        The input's id.
    table : Doubt or None
        The builder's own doubt.
    default : float
        Common practice, no source. [mm]
    label : str
        What it is.
    kind : str
        Kind of input.

    Returns
    -------
    str
        The id.
    """
    sd, note = default, " (common practice, no source)"
    if table is not None:
        sd, note = ctx.doubt((*keys, "sd"), table.sd, Measure.LENGTH), ""
    remedy = "measure it when it is made"
    item = Input(id=key, value=0.0, sd=sd, unit="mm", label=label + note, kind=kind, remedy=remedy)
    return ctx.add(keys, item)


def measured(
    ctx: Context, keys: Keys, table: SizeTable, key: str, *, label: str, by: str | None = None
) -> Size:
    """Add the readings of one size.

    A tool's scale error is left out for sizes. Its zero error is folded into each reading's own doubt,
    in quadrature: it makes each size as doubtful as it is, but is not shared between sizes.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where the size stands.
    table : SizeTable
        What was written.
    key : str
        Id of the first reading; the second is ``key/2`` and so on.
    label : str
        What it is.
    by : str or None
        The tool named for the whole table around it.

    Returns
    -------
    Size
        The ids.

    Raises
    ------
    InputError
        If a reading cannot be read or is not more than 0, or no tool is named.
    """
    name = table.by or by
    if name is None:
        raise ctx.source.error(
            keys,
            "this size does not say what it was measured with",
            code="JO017",
            value=table.readings[0],
            limit='such as { is = "12.9", by = "caliper" }, or one by = "caliper" for the whole table',
        )
    tool = ctx.tool((*keys, "by") if table.by else (*keys[:-1], "by"), name)
    note = f" ({table.note})" if table.note else ""
    ids = []
    for k, written in enumerate(table.readings):
        value = ctx.thickness((*keys, "is", k), written)
        item = Input(
            id=numbered(key, k),
            value=value,
            sd=_doubt_of(ctx, keys, table, tool=tool, value=value),
            unit="mm",
            label=f"{label}{_said_of(name)}{note}",
            kind="size",
            remedy=_remedy(name, tool),
        )
        ids.append(ctx.add(keys, item))
    _agree(ctx, keys, table, [ctx.inputs[key].value for key in ids])
    return Size(ids=tuple(ids))


def _said_of(name: str) -> str:
    """Say where a size comes from."""
    said = SAID_OF.get(name, f", by {name}")
    return f", not measured, about {name.partition('about')[2].strip()}" if guessed(name) else said


def _remedy(name: str, tool: Tool) -> str:
    """Say how the doubt of a size could be made smaller."""
    if name.startswith("to be "):
        return "measure it when it is made"
    return "caliper it" if tool.measure is Measure.SHARE else "measure it again"


def _agree(ctx: Context, keys: Keys, table: SizeTable, values: list[float]) -> None:
    """Refuse readings of one size that cannot be of the same thing."""
    middle = sum(values) / len(values)
    if middle > THIN and max(values) - min(values) > SPREAD * middle:
        far = max(range(len(values)), key=lambda k: abs(values[k] - middle))
        raise ctx.source.error(
            (*keys, "is", far),
            "these readings of one size differ too much",
            code="JO066",
            value=as_read(table),
            limit=f"readings that differ by {100 * SPREAD:g} % of their mean at most",
            hint="Look for a slip, or for another unit, and measure again",
        )


def _doubt_of(ctx: Context, keys: Keys, table: SizeTable, *, tool: Tool, value: float) -> float:
    written = table.sd
    if written is None:
        if tool.measure is Measure.ANGLE:
            raise ctx.source.error(
                keys, "this tool measures angles, not sizes", code="JO011", value=tool.name
            )
        return math.hypot(tool.sd, tool.zero) * (value if tool.measure is Measure.SHARE else 1.0)
    measure, sd = ctx.placed((*keys, "sd"), lambda: doubt(written, ctx.unit))
    if measure is Measure.ANGLE:
        raise ctx.source.error(
            (*keys, "sd"), "the doubt of a size is not an angle", code="JO011", value=written
        )
    sd = sd * value if measure is Measure.SHARE else sd
    return math.hypot(sd, tool.zero if tool.measure is Measure.LENGTH else 0.0)


def weights(ctx: Context, size: Size) -> tuple[tuple[str, float], ...]:
    """Return the weight of each reading in the mean that stands for a size.

    Parameters
    ----------
    ctx : Context
        The loading.
    size : Size
        The size.

    Returns
    -------
    tuple
        Ids and weights, of sum 1.
    """
    shares = [1.0 / ctx.inputs[key].sd ** 2 for key in size.ids]
    return tuple((key, share / sum(shares)) for key, share in zip(size.ids, shares, strict=True))


def mean(ctx: Context, size: Size) -> float:
    """Return the best value of a size.

    Parameters
    ----------
    ctx : Context
        The loading.
    size : Size
        The size.

    Returns
    -------
    float
        Weighted mean of its readings. [mm]
    """
    return sum(ctx.inputs[key].value * weight for key, weight in weights(ctx, size))
