"""Vehicles as measured: outlines by widths at heights, one section or several along each body."""

from __future__ import annotations

import numpy as np

from spanwright.clearance.vehicles import Body, Play, Prism, Vehicle, VehicleInputs
from spanwright.estimation.inputs import Input
from spanwright.files.builders.context import Context
from spanwright.files.builders.tools import Measure
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.job import Body as BodyTable
from spanwright.files.schema.job import Section
from spanwright.files.schema.job import Vehicle as VehicleTable
from spanwright.files.source import Keys, Plain

LONGEST = 3000.0  # mm: no model's body is longer (common practice, no source)
GAUGES = 40.0  # a body wider or taller than this many gauges is at full size (common practice, no source)
TOUCHING = 0.01  # mm: sections nearer than this leave no hole between them

FloatArray = np.ndarray
Pairs = tuple[tuple[Quantity, Quantity], ...]


def build_vehicle(ctx: Context, keys: Keys, table: VehicleTable, *, gauge: float) -> Vehicle:
    """Return a vehicle.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where it stands.
    table : VehicleTable
        The ``[[vehicles]]`` table.
    gauge : float
        The job's gauge. [mm]

    Returns
    -------
    Vehicle
        With base inputs for the errors of its sizes.

    Raises
    ------
    InputError
        If a size is missing or cannot be meant.
    """
    name = ctx.name((*keys, "name"), table.name)
    if table.bodies is not None:
        for key in ("length", "trucks", "outline", "polygon", "sections"):
            if getattr(table, key) is not None:
                raise ctx.source.error(
                    (*keys, key), "an articulated vehicle says this of each of its bodies", code="JO060"
                )
        bodies = tuple(
            _body(ctx, (*keys, "bodies", k), b, _body_name(ctx, (*keys, "bodies", k), b, k), gauge=gauge)
            for k, b in enumerate(table.bodies)
        )
        if not bodies:
            raise ctx.source.error((*keys, "bodies"), "this vehicle has no body", code="JO060")
    else:
        bodies = (_body(ctx, keys, table, name, gauge=gauge),)
    here = (*keys, "play")
    play = Play(
        lateral=ctx.length((*here, "side"), table.play.side, least=0),
        roll=_roll(ctx, (*here, "roll"), table.play.roll),
    )
    return Vehicle(
        id=name, name=name, bodies=bodies, play=play, size_inputs=_size_inputs(ctx, keys, table, bodies)
    )


def _roll(ctx: Context, keys: Keys, written: Quantity) -> float:
    roll = ctx.angle(keys, written)
    if not 0 <= roll < 0.5:
        raise ctx.source.error(
            keys,
            "this rocking cannot be meant",
            code="JO061",
            value=written,
            limit="0 to 28 deg, to each side",
        )
    return roll


def _body_name(ctx: Context, keys: Keys, table: BodyTable, number: int) -> str:
    return ctx.name((*keys, "name"), table.name) if table.name else f"body {number + 1}"


def _body(ctx: Context, keys: Keys, table: BodyTable, name: str, *, gauge: float) -> Body:
    if table.trucks is None:
        raise ctx.source.error(
            keys, f"{name} does not say the distance of its trucks", code="JO060", limit="trucks = ..."
        )
    trucks = ctx.thickness((*keys, "trucks"), table.trucks)
    wheelbase = ctx.length((*keys, "truck_wheelbase"), table.truck_wheelbase, least=0)
    if wheelbase >= trucks:
        raise ctx.source.error(
            (*keys, "truck_wheelbase"),
            "the wheelbase of one truck is not less than the distance of the trucks",
            code="JO061",
            value=table.truck_wheelbase,
        )
    if table.sections is not None:
        for key in ("length", "outline", "polygon"):
            if getattr(table, key) is not None:
                raise ctx.source.error(
                    (*keys, key),
                    f"with sections, a body has no {key} of its own",
                    code="JO060",
                    hint=f"Take out {key}: sections say their own from and to, and outline or polygon",
                )
        prisms = tuple(_section(ctx, (*keys, "sections", k), s) for k, s in enumerate(table.sections))
        if not prisms:
            raise ctx.source.error((*keys, "sections"), "this body has no section", code="JO060")
        _no_hole(ctx, (*keys, "sections"), table.sections, prisms)
    else:
        if table.length is None:
            raise ctx.source.error(
                keys, f"{name} does not say its length", code="JO060", limit="length = ..."
            )
        half = ctx.thickness((*keys, "length"), table.length) / 2
        prisms = (_prism(ctx, keys, table, (-half, half)),)
    _at_model_size(ctx, keys, table, prisms, gauge=gauge)
    length = max(p.front for p in prisms) - min(p.rear for p in prisms)
    if trucks > length + TOUCHING:
        raise ctx.source.error(
            (*keys, "trucks"),
            f"the trucks of {name} are further apart than it is long",
            code="JO061",
            value=table.trucks,
            limit=f"at most its length of {length:.6g} mm",
            hint="trucks is the distance between the two truck centres: did you change it with the length?",
        )
    return Body(name=name, truck_spacing=trucks, truck_wheelbase=wheelbase, prisms=prisms)


def _no_hole(ctx: Context, keys: Keys, tables: tuple[Section, ...], prisms: tuple[Prism, ...]) -> None:
    """Refuse sections with nothing between them; overlaps are meant: a load on a flat car."""
    order = sorted(range(len(prisms)), key=lambda k: prisms[k].rear)
    end = prisms[order[0]].front
    for k in order[1:]:
        if prisms[k].rear > end + TOUCHING:
            raise ctx.source.error(
                (*keys, k, "from"),
                "there is a hole in this body before this section",
                code="JO061",
                value=tables[k].start,
                limit=f"at most {end:.6g} mm, where the sections before it end",
                hint="Let the sections touch or overlap, and say low parts between others too",
            )
        end = max(end, prisms[k].front)


def _at_model_size(
    ctx: Context, keys: Keys, table: BodyTable, prisms: tuple[Prism, ...], *, gauge: float
) -> None:
    """Refuse a body whose sizes can only be those of the real vehicle."""
    for k, prism in enumerate(prisms):
        here, own = ((*keys, "sections", k), table.sections[k]) if table.sections else (keys, table)
        long = prism.front - prism.rear
        if long > LONGEST:
            place = (*here, "to" if table.sections else "length")
            raise _full_size(ctx, place, "long", long, limit=LONGEST)
        width, top = float(np.ptp(prism.section[:, 0])), float(prism.section[:, 1].max())
        place = (*here, "outline" if own.outline is not None else "polygon")
        for what, size in (("wide", width), ("tall", top)):
            if size > GAUGES * gauge:
                raise _full_size(ctx, place, what, size, limit=GAUGES * gauge)


def _full_size(ctx: Context, keys: Keys, what: str, size: float, *, limit: float) -> Exception:
    return ctx.source.error(
        keys,
        f"this body is too {what} for a model",
        code="JO068",
        value=Plain(f"{size:.6g} mm"),
        limit=f"at most {limit:.6g} mm",
        hint="Sizes are those of the model: did you forget proto, as in 50 ft proto?",
    )


def _section(ctx: Context, keys: Keys, table: Section) -> Prism:
    rear, front = ctx.length((*keys, "from"), table.start), ctx.length((*keys, "to"), table.end)
    if front <= rear:
        raise ctx.source.error(
            (*keys, "to"),
            "this section ends before it starts",
            code="JO061",
            value=table.end,
            limit="lengths forward from midway between the trucks",
        )
    return _prism(ctx, keys, table, (rear, front))


def _prism(ctx: Context, keys: Keys, table: BodyTable | Section, ends: tuple[float, float]) -> Prism:
    if (table.outline is None) == (table.polygon is None):
        raise ctx.source.error(
            keys,
            "a body needs an outline or a polygon, and not both",
            code="JO060",
            limit='outline = [["3", "15"], ["24", "18"]]: height and full width, from the bottom up',
        )
    key = "outline" if table.outline is not None else "polygon"
    here = (*keys, key)
    if table.outline is not None:
        section = _outline(ctx, here, table.outline)
    else:
        section = np.array(
            [
                [ctx.length((*here, k, 0), left), ctx.length((*here, k, 1), height, least=0)]
                for k, (left, height) in enumerate(table.polygon or ())
            ]
        ).reshape(-1, 2)
    return ctx.placed(here, lambda: _made(ctx, here, section, ends))


def _made(ctx: Context, keys: Keys, section: FloatArray, ends: tuple[float, float]) -> Prism:
    if len(section) < 3:
        raise ctx.source.error(
            keys,
            "this section encloses nothing",
            code="JO062",
            value=Plain(f"{len(section)} corner{'s' if len(section) != 1 else ''}"),
            limit="3 corners at least",
            hint="List the corners in order around the section",
        )
    try:
        return Prism(rear=ends[0], front=ends[1], section=section)
    except ValueError as problem:
        what = getattr(problem, "what", "this section cannot be meant")
        raise ctx.source.error(
            keys, what, code="JO062", limit=getattr(problem, "limit", None), hint=getattr(problem, "hint", "")
        ) from None


def _outline(ctx: Context, keys: Keys, pairs: Pairs) -> FloatArray:
    """Return the polygon of full widths at heights, the same to both sides."""
    heights: list[float] = []
    widths: list[float] = []
    for k, (height, width) in enumerate(pairs):
        heights.append(ctx.length((*keys, k, 0), height, least=0))
        widths.append(ctx.length((*keys, k, 1), width, least=0))
        if k and heights[k] < heights[k - 1]:
            raise ctx.source.error(
                (*keys, k), "the heights of an outline go from the bottom up", code="JO062", value=height
            )
    if len(pairs) < 2:
        raise ctx.source.error(keys, "an outline needs two heights at least", code="JO062", value=len(pairs))
    right = [(-w / 2, h) for h, w in zip(heights, widths, strict=True)]
    left = [(w / 2, h) for h, w in zip(reversed(heights), reversed(widths), strict=True)]
    corners = right + [p for p in left if p[0] > 0]
    return np.array(corners)


def _size_inputs(ctx: Context, keys: Keys, table: VehicleTable, bodies: tuple[Body, ...]) -> VehicleInputs:
    """Add the errors of the measured sizes: value 0, the tool's doubt or the one given."""
    tool = ctx.tool((*keys, "by"), table.by)
    corners = np.vstack([p.section for b in bodies for p in b.prisms])
    sizes = {
        "width": float(np.ptp(corners[:, 0])),
        "height": float(corners[:, 1].max()),
        "length": max(b.front - b.rear for b in bodies),
        "trucks": max(b.truck_spacing for b in bodies),
    }
    ids = {}
    for key, size in sizes.items():
        own: Quantity | None = getattr(table.sd, key)
        if own is not None:
            sd = ctx.doubt((*keys, "sd", key), own, Measure.LENGTH)
        elif tool.measure is Measure.ANGLE:
            raise ctx.source.error(
                (*keys, "by"), "this tool measures angles, not sizes", code="JO011", value=table.by
            )
        else:
            sd = float(np.hypot(tool.sd, tool.zero)) * (size if tool.measure is Measure.SHARE else 1.0)
        label = f"error of the {key} of {table.name}, by {table.by}"
        item = Input(
            id=f"vehicles/{table.name}/{key}",
            value=0.0,
            sd=sd,
            unit="mm",
            label=label,
            kind="size",
            remedy="measure it again",
        )
        ids[key] = ctx.add((*keys, "name"), item)
    return VehicleInputs(width=ids["width"], height=ids["height"], length=ids["length"], trucks=ids["trucks"])
