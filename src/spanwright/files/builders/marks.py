"""Marks and datum: what points there are, and how the frame is tied down."""

from __future__ import annotations

from spanwright.files.builders.context import Context
from spanwright.files.schema.survey import Datum as DatumTable
from spanwright.files.schema.survey import MarkGroup
from spanwright.files.schema.survey import Marks as MarksTable
from spanwright.files.source import Keys, Plain
from spanwright.survey.readings import Datum, DatumKind, Face, Mark, Rail

GROUND = "ground"
PEG = "peg"
RAILHEAD = "railhead"


def build_marks(ctx: Context, table: MarksTable, lines: list[str]) -> tuple[dict[str, Mark], dict[str, str]]:
    """Return all marks, and the own surface of each.

    Parameters
    ----------
    ctx : Context
        The loading.
    table : MarksTable
        The ``[marks]`` table.
    lines : list of str
        Names of the lines of track.

    Returns
    -------
    dict
        Marks by name, in the order of the file.
    dict
        The surface whose height a mark's height is.

    Raises
    ------
    InputError
        If a mark is named twice, or a group's words are not the job's.
    """
    marks: dict[str, Mark] = {}
    surfaces: dict[str, str] = {}
    for key, value in (ctx.source.values["marks"]).items():
        keys: Keys = ("marks", key)
        if key in ("pegs", "ground"):
            new = [Mark(name=name) for name in value]
            surface = PEG if key == "pegs" else GROUND
        elif key == "rough":
            continue
        else:
            ctx.name(keys, key, in_ids=False)
            new = _on_track(ctx, keys, (table.__pydantic_extra__ or {})[key], lines)
            surface = RAILHEAD
        for k, mark in enumerate(new):
            place = (*keys, k) if key in ("pegs", "ground") else (*keys, "names", k)
            ctx.name(place, mark.name)
            if mark.name in marks:
                raise ctx.source.error(
                    place,
                    "this mark is named twice",
                    code="JO020",
                    value=mark.name,
                    hint="Each mark has one name",
                )
            marks[mark.name] = mark
            surfaces[mark.name] = surface
    for name, (x, y) in table.rough.items():
        place = ("marks", "rough", name)
        known_mark(ctx, place, name, marks)
        rough = (ctx.length((*place, 0), x), ctx.length((*place, 1), y))
        old = marks[name]
        marks[name] = Mark(
            name=name, line=old.line, rail=old.rail, face=old.face, reach=old.reach, rough=rough
        )
    return marks, surfaces


def known_mark(ctx: Context, keys: Keys, name: str, marks: dict[str, Mark]) -> str:
    """Return a mark's name, if there is such a mark.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where the name stands.
    name : str
        The name.
    marks : dict
        All marks.

    Returns
    -------
    str
        The name.
    """
    return ctx.choice(keys, name, marks, what="this mark is not in [marks]", code="JO021")


def _on_track(ctx: Context, keys: Keys, group: MarkGroup, lines: list[str]) -> list[Mark]:
    ctx.choice((*keys, "line"), group.line, lines, what="there is no line of this name", code="JO022")
    words = ctx.words
    rails = {words.left: Rail.LEFT, words.right: Rail.RIGHT, "both": Rail.BOTH}
    rail = rails[ctx.choice((*keys, "rail"), group.rail, rails, what="this is not a rail", code="JO023")]
    if rail is Rail.BOTH:
        if group.face is not None:
            raise ctx.source.error(
                (*keys, "face"),
                "a bar across both rails touches no single face",
                code="JO024",
                value=group.face,
                hint="Leave face out, or name one rail",
            )
        return [
            Mark(name=name, line=group.line, rail=rail, reach=_reach(ctx, keys, group))
            for name in group.names
        ]
    if group.reach is not None or group.reach_to is not None:
        raise ctx.source.error(
            (*keys, "reach" if group.reach is not None else "reach_to"),
            "only a bar across both rails has a reach",
            code="JO024",
            value=group.reach if group.reach is not None else group.reach_to,
            hint='Leave it out, or say rail = "both"',
        )
    faces = {face.value: face for face in Face}
    if group.face is None:
        raise ctx.source.error(
            keys,
            "this group does not say which face of the rail",
            code="JO024",
            limit=f"face = one of: {', '.join(faces)}",
        )
    face = faces[
        ctx.choice((*keys, "face"), group.face, faces, what="this is not a face of a rail", code="JO024")
    ]
    return [Mark(name=name, line=group.line, rail=rail, face=face) for name in group.names]


def _reach(ctx: Context, keys: Keys, group: MarkGroup) -> float:
    if group.reach is None:
        raise ctx.source.error(
            keys,
            "a bar across both rails must say its reach",
            code="JO024",
            limit='reach = "0" for a mark midway between the rails',
        )
    reach = ctx.length((*keys, "reach"), group.reach, least=0)
    if reach == 0:
        return 0.0
    if group.reach_to is None:
        raise ctx.source.error(
            (*keys, "reach"),
            "this bar does not say to which side it reaches",
            code="JO024",
            value=group.reach,
            limit=f"reach_to = {ctx.words.left!r} or {ctx.words.right!r}",
        )
    return reach if ctx.side((*keys, "reach_to"), group.reach_to) else -reach


def build_datum(ctx: Context, table: DatumTable, marks: dict[str, Mark]) -> Datum:
    """Return the datum.

    Parameters
    ----------
    ctx : Context
        The loading.
    table : DatumTable
        The ``[datum]`` table.
    marks : dict
        All marks.

    Returns
    -------
    Datum
        Minimal, fixed or free.

    Raises
    ------
    InputError
        If it is none of the three, or more than one.
    """
    keys: Keys = ("datum",)
    for key in ("at", "towards", "height"):
        word = getattr(table, key)
        if word is not None:
            known_mark(ctx, (*keys, key), word, marks)
    if table.fixed is not None:
        if table.free or table.at or table.towards or table.height:
            raise _which_datum(ctx)
        return Datum(kind=DatumKind.FIXED, fixed=_fixed(ctx, table, marks))
    if table.free:
        if table.at or table.towards:
            raise _which_datum(ctx)
        return Datum(kind=DatumKind.FREE, height=table.height or "")
    if not (table.at and table.towards and table.height):
        raise _which_datum(ctx)
    if table.at == table.towards:
        raise ctx.source.error(
            (*keys, "towards"), "the datum needs two different marks", code="JO026", value=table.towards
        )
    return Datum(kind=DatumKind.MINIMAL, at=table.at, towards=table.towards, height=table.height)


def _which_datum(ctx: Context) -> Exception:
    return ctx.source.error(
        ("datum",),
        "the datum must be said in one of three ways",
        code="JO026",
        limit="at, towards and height (each a mark); or fixed = { P1 = { x, y, z }, ... }; or free = true",
    )


def _fixed(ctx: Context, table: DatumTable, marks: dict[str, Mark]) -> tuple[tuple[str, str, float], ...]:
    held = []
    for name, axes in (table.fixed or {}).items():
        place = ("datum", "fixed", name)
        known_mark(ctx, place, name, marks)
        held += [(name, str(axis), ctx.length((*place, axis), value)) for axis, value in axes.items()]
    if not held:
        raise _which_datum(ctx)
    _apart(ctx, held)
    return tuple(held)


def _apart(ctx: Context, held: list[tuple[str, str, float]]) -> None:
    """Refuse two marks at one place in plan, unless one is said to be above the other."""
    places: dict[str, dict[str, float]] = {}
    for name, axis, value in held:
        places.setdefault(name, {})[axis] = value
    names = [name for name, at in places.items() if {"x", "y"} <= set(at)]
    for k, name in enumerate(names):
        for other in names[:k]:
            here, there = places[name], places[other]
            above = "z" in here and "z" in there and here["z"] != there["z"]
            if (here["x"], here["y"]) == (there["x"], there["y"]) and not above:
                raise ctx.source.error(
                    ("datum", "fixed", name),
                    f"this mark is held at the same place as {other}",
                    code="JO026",
                    value=Plain(f"x {here['x']:g} mm, y {here['y']:g} mm"),
                    limit="a place of its own for each mark",
                    hint="Correct the coordinates of one of them",
                )
