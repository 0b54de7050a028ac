"""Vehicles as measured, or like one of the handbook: one section or several along each body."""

from __future__ import annotations

import numpy as np

from spanwright.clearance.vehicles import Body, Play, Prism, Vehicle
from spanwright.files.builders.context import Context
from spanwright.files.builders.trains.likened import Likened, likened
from spanwright.files.builders.trains.shapes import (
    corners_of,
    corners_of_shadow,
    own_shape,
    read_outline,
    shapes_given,
)
from spanwright.files.builders.trains.sizes import size_inputs
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.job import Body as BodyTable
from spanwright.files.schema.job import Section
from spanwright.files.schema.job import Vehicle as VehicleTable
from spanwright.files.source import Keys, Plain

LONGEST = 3000.0  # mm: no model's body is longer (common practice, no source)
GAUGES = 40.0  # a body wider or taller than this many gauges is at full size (common practice, no source)
_OF_A_BODY = (
    *("like", "length", "trucks", "middle_play"),
    *("five", "outline", "polygon", "shadow", "sections"),
)
TOUCHING = 0.01  # mm: sections nearer than this leave no hole between them

FloatArray = np.ndarray


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
    model = likened(ctx, keys, table)
    if table.bodies is not None:
        for key in _OF_A_BODY:
            if getattr(table, key) is not None:
                raise ctx.source.error(
                    (*keys, key), "an articulated vehicle says this of each of its bodies", code="JO060"
                )
        made = [
            _body(ctx, (*keys, "bodies", k), b, _body_name(ctx, (*keys, "bodies", k), b, k), gauge=gauge)
            for k, b in enumerate(table.bodies)
        ]
        if not made:
            raise ctx.source.error((*keys, "bodies"), "this vehicle has no body", code="JO060")
    else:
        made = [_body(ctx, keys, table, name, gauge=gauge, model=model)]
    here = (*keys, "play")
    play = Play(
        lateral=ctx.length((*here, "side"), table.play.side, least=0),
        roll=_roll(ctx, (*here, "roll"), table.play.roll),
    )
    bodies = tuple(body for body, _ in made)
    notes = dict.fromkeys(note for _, said in made for note in said)
    return Vehicle(
        id=name,
        name=name,
        bodies=bodies,
        play=play,
        size_inputs=size_inputs(ctx, keys, table, bodies, model),
        notes=(*((model.note,) if model else ()), *notes),
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


def _body(
    ctx: Context, keys: Keys, table: BodyTable, name: str, *, gauge: float, model: Likened | None = None
) -> tuple[Body, tuple[str, ...]]:
    """Return a body, and what is to be said of it."""
    trucks, notes = _trucks(ctx, keys, table, name, model)
    wheelbase = ctx.length((*keys, "truck_wheelbase"), table.truck_wheelbase, least=0)
    if model and "truck_wheelbase" not in table.model_fields_set:
        wheelbase = model.sizes.truck_wheelbase
    if wheelbase >= min(trucks):
        raise ctx.source.error(
            (*keys, "truck_wheelbase"),
            "the wheelbase of one truck is not less than the distance of the trucks",
            code="JO061",
            value=table.truck_wheelbase,
        )
    _one_shape(ctx, keys, table)
    prisms, said = _solid(ctx, keys, table, name, model)
    _at_model_size(ctx, keys, table, prisms, gauge=gauge)
    length = max(p.front for p in prisms) - min(p.rear for p in prisms)
    if sum(trucks) > length + TOUCHING:
        raise ctx.source.error(
            (*keys, "trucks"),
            f"the trucks of {name} are further apart than it is long",
            code="JO061",
            value=table.trucks if table.trucks is None or len(table.trucks) > 1 else table.trucks[0],
            limit=f"at most its length of {length:.6g} mm",
            hint="trucks is the distance between the two truck centres: did you change it with the length?",
        )
    body = Body(
        name=name,
        truck_spacing=sum(trucks),
        truck_wheelbase=wheelbase,
        prisms=prisms,
        between=tuple(sum(trucks[:k]) - 0.5 * sum(trucks) for k in range(1, len(trucks))),
        between_play=_middle_play(ctx, (*keys, "middle_play"), table.middle_play, trucks),
    )
    return body, notes + said


def _middle_play(
    ctx: Context, keys: Keys, written: Quantity | None, trucks: tuple[float, ...]
) -> float | None:
    if written is None:
        return None
    if len(trucks) == 1:
        raise ctx.source.error(
            keys,
            "this body has no truck between its outer ones",
            code="JO061",
            value=written,
            hint='Say middle_play of a body on three trucks or more: trucks = ["40", "44"]',
        )
    return ctx.length(keys, written, least=0)


def _trucks(
    ctx: Context, keys: Keys, table: BodyTable, name: str, model: Likened | None
) -> tuple[tuple[float, ...], tuple[str, ...]]:
    """Return the distances from truck to truck; more than one means more than two trucks."""
    if table.trucks is not None:
        trucks = tuple(ctx.thickness((*keys, "trucks", k), each) for k, each in enumerate(table.trucks))
    elif model:
        trucks = model.sizes.trucks
    else:
        raise ctx.source.error(
            keys, f"{name} does not say the distance of its trucks", code="JO060", limit="trucks = ..."
        )
    if len(trucks) == 1:
        return trucks, ()
    between = "the middle one follows" if len(trucks) == 2 else "those between follow"
    count = ("three", "four", "five")[len(trucks) - 2] if len(trucks) < 5 else str(len(trucks) + 1)
    return trucks, (f"{name} stands on {count} trucks: it is swept by its outer trucks, {between}",)


def _one_shape(ctx: Context, keys: Keys, table: BodyTable | Section) -> None:
    """Refuse a cross-section that is given in two ways, of which one would be passed over."""
    given = shapes_given(table)
    if len(given) > 1:
        raise ctx.source.error(
            (*keys, given[1]),
            f"this cross-section is given as {given[0]} and as {given[1]}",
            code="JO060",
            limit="one of them only",
            hint=f"Take out {given[0]} or {given[1]}",
        )


def _solid(
    ctx: Context, keys: Keys, table: BodyTable, name: str, model: Likened | None
) -> tuple[tuple[Prism, ...], tuple[str, ...]]:
    """Return the sections drawn out lengthwise."""
    if table.sections is not None:
        for key in ("length", "five", "outline", "polygon", "shadow"):
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
        return prisms, ()
    if model and model.sizes.sections and own_shape(table) is None:
        if table.length is not None:
            raise ctx.source.error(
                (*keys, "length"),
                "this vehicle of the handbook has sections, which say its length",
                code="JO090",
                value=table.length,
                hint="Take out length, or give sections of your own",
            )
        return tuple(
            _made(ctx, (*keys, "like"), corners_of(outline), (rear, front))
            for rear, front, outline in model.raised_sections
        ), ()
    if model and model.sizes.sections and table.five is not None:
        raise ctx.source.error(
            (*keys, "five"),
            "this vehicle of the handbook has sections, not five numbers to change",
            code="JO090",
            value=model.name,
            hint="Give sections of your own instead of five",
        )
    length = model.sizes.length if model else None
    if table.length is not None:
        length = ctx.thickness((*keys, "length"), table.length)
    if length is None:
        raise ctx.source.error(keys, f"{name} does not say its length", code="JO060", limit="length = ...")
    prism, said = _prism(ctx, keys, table, (-length / 2, length / 2), model)
    return (prism,), said


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
        place = (*here, own_shape(own) or "like")
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
    _one_shape(ctx, keys, table)
    return _prism(ctx, keys, table, (rear, front), None)[0]


def _prism(
    ctx: Context,
    keys: Keys,
    table: BodyTable | Section,
    ends: tuple[float, float],
    model: Likened | None,
) -> tuple[Prism, tuple[str, ...]]:
    key = own_shape(table)
    said: tuple[str, ...] = ()
    if key == "shadow" and table.shadow is not None:
        here = (*keys, key)
        section = corners_of_shadow(ctx, here, table.shadow)
        said = ("sizes picked on a picture, with one scale for all: caliper its height and width",)
    elif key == "polygon":
        here = (*keys, key)
        section = np.array(
            [
                [ctx.length((*here, k, 0), left), ctx.length((*here, k, 1), height, least=0)]
                for k, (left, height) in enumerate(table.polygon or ())
            ]
        ).reshape(-1, 2)
    elif key is None and model is None:
        raise ctx.source.error(
            keys,
            "a body needs an outline, a polygon or five numbers, and one of them only",
            code="JO060",
            limit='outline = [["3", "15"], ["24", "18"]]: height and full width, from the bottom up',
        )
    else:
        here = (*keys, key or "like")
        outline, said = read_outline(ctx, keys, table, model)
        section = corners_of(outline)
    return ctx.placed(here, lambda: _made(ctx, here, section, ends)), said


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
