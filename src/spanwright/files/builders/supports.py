"""Supports: abutments, piers and straddle bents, each with what its kind needs and no more."""

from __future__ import annotations

import math

from spanwright.estimation.inputs import Input, Size
from spanwright.files.builders import sizes
from spanwright.files.builders.context import Context, with_article
from spanwright.files.builders.marks import known_mark
from spanwright.files.builders.tools import Measure
from spanwright.files.schema.base import Size as SizeTable
from spanwright.files.schema.job import Support as SupportTable
from spanwright.files.source import Keys
from spanwright.structures.given import CapForm, Support, SupportKind, TrimEnd
from spanwright.survey.readings import Mark

CUT = 0.2  # mm: how truly a shaft is cut by hand tools (common practice, no source)
#: A face that leans by more than this, run over rise, is a slope and no pier (common practice, no source).
MOST_BATTER = 0.25
SET_OUT = 0.3  # mm: how truly a support is set out (common practice, no source)

#: Sizes of a support: those that its kind needs, and those that it may have.
NEEDS = {
    "abutment": ("cap_across",),
    "pier": ("cap_across", "shaft_along", "shaft_across"),
    "straddle bent": ("shaft_along", "shaft_across"),
}
MAY_HAVE = {
    "abutment": ("footing", "shaft_along", "shaft_across", "stock", "batter", "trim"),
    "pier": ("footing", "stock", "batter", "trim"),
    "straddle bent": ("footing",),
}
BENT_NEEDS = {
    "form": 'form = "under the bearings" or "level with the girders"',
    "clear": "clear = a size for each side, from the lower track's centre to the near face of the column",
}
BASES = {"abutment": 1, "pier": 1, "straddle bent": 2}


def build_support(ctx: Context, number: int, table: SupportTable, marks: dict[str, Mark]) -> Support:
    """Return a support.

    Parameters
    ----------
    ctx : Context
        The loading.
    number : int
        Its place among the supports, from 0.
    table : SupportTable
        The ``[[supports]]`` table.
    marks : dict
        All marks.

    Returns
    -------
    Support
        With base inputs for its shift, its cut and its setting out.

    Raises
    ------
    InputError
        If it lacks what its kind needs, or has what its kind has not.
    """
    keys: Keys = ("supports", number)
    name = ctx.name((*keys, "name"), table.name)
    _has_what_it_needs(ctx, keys, table)
    for k, base in enumerate(table.base):
        known_mark(ctx, (*keys, "base", k), base, marks)
        if marks[base].line:
            raise ctx.source.error(
                (*keys, "base"),
                "a support stands on a mark of the ground or a peg, not on track",
                code="JO057",
                value=base,
            )

    def measured(key: str, what: str, own: SizeTable) -> Size:
        ids, label = f"supports/{name}/{key}", f"{what} of {name}"
        return sizes.measured(ctx, (*keys, key), own, ids, label=label, by=table.by)

    def size(key: str, what: str) -> Size | None:
        own: SizeTable | None = getattr(table, key)
        return None if own is None else measured(key, what, own)

    clear = _clear(ctx, keys, table, name)
    label = f"how truly {name} is "
    return Support(
        name=name,
        kind=SupportKind(table.kind),
        bases=table.base,
        shift=sizes.free(
            ctx,
            (*keys, "shift"),
            f"supports/{name}/shift",
            value=ctx.length((*keys, "shift"), table.shift),
            label=f"{name} shifted along the upper line, towards {ctx.words.finish}",
        ),
        cap=measured("cap", "cap thickness", table.cap),
        cap_along=measured("cap_along", "cap size along", table.cap_along),
        cap_across=size("cap_across", "cap size across"),
        footing=size("footing", "footing thickness"),
        shaft_along=size("shaft_along", "shaft size along"),
        shaft_across=size("shaft_across", "shaft size across"),
        stock=size("stock", "height of the kit's shaft"),
        batter=_batter(ctx, keys, table),
        trim=TrimEnd(table.trim) if table.trim else TrimEnd.FOOT,
        cut=_cut(ctx, keys, table, name),
        form=CapForm(table.form) if table.form else CapForm.UNDER,
        clear_left=clear[0] if clear else None,
        clear_right=clear[1] if clear else None,
        turn=ctx.angle((*keys, "turn"), table.turn) if table.turn is not None else 0.0,
        set_out=sizes.still_to_do(
            ctx,
            (*keys, "set_out"),
            f"supports/{name}/set_out",
            table.set_out,
            default=SET_OUT,
            label=f"{label}set out along the line",
            kind="setting out",
        ),
        set_out_across=sizes.still_to_do(
            ctx,
            (*keys, "set_out_across"),
            f"supports/{name}/set_out_across",
            table.set_out_across,
            default=SET_OUT,
            label=f"{label}set out across the line",
            kind="setting out",
        ),
        along=None if table.along is None else ctx.length((*keys, "along"), table.along),
    )


def _cut(ctx: Context, keys: Keys, table: SupportTable, name: str) -> tuple[str, ...]:
    """Return the base inputs of how truly each shaft is cut."""
    shafts = {"": f"how truly {name} is cut"}
    if SupportKind(table.kind) is SupportKind.STRADDLE_BENT:
        sides = {"/left": ctx.words.left, "/right": ctx.words.right}
        shafts = {key: f"how truly the {side} column of {name} is cut" for key, side in sides.items()}
    return tuple(
        sizes.still_to_do(
            ctx,
            (*keys, "cut"),
            f"supports/{name}/cut{key}",
            table.cut,
            default=CUT,
            label=label,
            kind="cut",
        )
        for key, label in shafts.items()
    )


def _has_what_it_needs(ctx: Context, keys: Keys, table: SupportTable) -> None:
    kind = table.kind
    for key in NEEDS[kind]:
        if getattr(table, key) is None:
            raise ctx.source.error(
                keys, f"this {kind} does not say its {key}", code="JO055", limit=f'{key} = "..."'
            )
    every = {"cap_across", "footing", "shaft_along", "shaft_across", "stock", "batter", "trim"}
    for key in sorted(every - set(NEEDS[kind]) - set(MAY_HAVE[kind])):
        if getattr(table, key) is not None:
            raise ctx.source.error(
                (*keys, key), f"{with_article(kind)} has no {key}", code="JO058", hint="Leave it out"
            )
    if kind == "straddle bent" and table.along is not None:
        raise ctx.source.error(
            (*keys, "along"),
            "a straddle bent has no along: it stands where the lines cross",
            code="JO058",
            value=table.along,
            hint="Leave it out",
        )
    _bases(ctx, (*keys, "base"), table)
    for key in ("form", "clear", "turn"):
        given = getattr(table, key) is not None
        if given and kind != "straddle bent":
            raise ctx.source.error(
                (*keys, key), f"{with_article(kind)} has no {key}", code="JO058", hint="Leave it out"
            )
        if not given and kind == "straddle bent" and key != "turn":
            raise ctx.source.error(
                keys,
                f"this straddle bent does not say its {key}",
                code="JO055",
                limit=BENT_NEEDS[key],
            )


def _batter(ctx: Context, keys: Keys, table: SupportTable) -> float:
    """Return run over rise of each face; refuse what a shaft of this support cannot have."""
    if table.trim is not None and table.stock is None:
        raise ctx.source.error(
            (*keys, "trim"),
            "only a kit's shaft is trimmed, and this support does not say its stock",
            code="JO080",
            value=table.trim,
            hint='Add stock = "...", the height of the shaft as it comes, or leave trim out',
        )
    if table.batter is None:
        return 0.0
    here: Keys = (*keys, "batter")
    if table.shaft_along is None or table.shaft_across is None:
        raise ctx.source.error(
            here,
            "a battered shaft needs its own sizes, taken at its top as it comes",
            code="JO080",
            value=table.batter,
            limit='shaft_along = "..." and shaft_across = "..."',
        )
    batter = math.tan(ctx.angle(here, table.batter))
    if not 0.0 <= batter <= MOST_BATTER:
        raise ctx.source.error(
            here,
            "this batter cannot be meant",
            code="JO081",
            value=table.batter,
            limit=f"0 to 1:{1.0 / MOST_BATTER:g}, how far each face leans in for its height",
            hint='Write "1:24" for 1 sideways in 24 of height',
        )
    return batter


def _bases(ctx: Context, keys: Keys, table: SupportTable) -> None:
    """Refuse other than one mark a foot."""
    wanted = BASES[table.kind]
    if len(table.base) != wanted:
        raise ctx.source.error(
            keys,
            f"{with_article(table.kind)} stands on {wanted} mark{'s, left and right' if wanted == 2 else ''}",
            code="JO057",
            value=list(table.base),
        )
    if len(set(table.base)) != len(table.base):
        raise ctx.source.error(
            keys,
            "both columns stand on the same mark",
            code="JO057",
            value=list(table.base),
            limit="two different marks, under the left and under the right column",
            hint="Mark the ground under each column and measure both",
        )


def _clear(ctx: Context, keys: Keys, table: SupportTable, name: str) -> tuple[Size, Size] | None:
    """Return the set-out distances of a bent's columns; without a tool they are still to be set out."""
    if table.clear is None:
        return None
    sd = (
        SET_OUT
        if table.set_out is None
        else ctx.doubt((*keys, "set_out", "sd"), table.set_out.sd, Measure.LENGTH)
    )
    found = {}
    label = f"lower track centre to near column face of {name}"
    for word, size in table.clear.items():
        here = (*keys, "clear", word)
        sides = [True, False] if set(table.clear) == {"both"} else [ctx.side(here, word)]
        for is_left in sides:
            own = f"supports/{name}/clear/{'left' if is_left else 'right'}"
            side = ctx.words.left if is_left else ctx.words.right
            if size.by is not None:
                found[is_left] = sizes.measured(ctx, here, size, own, label=f"{label}, {side}")
                continue
            if len(size.readings) != 1:
                raise ctx.source.error(
                    here, "what is still to be set out has one value", code="JO056", value=size.readings
                )
            value = ctx.thickness(here, size.readings[0])
            own_sd = sd if size.sd is None else ctx.doubt((*here, "sd"), size.sd, Measure.LENGTH)
            item = Input(
                id=own,
                value=value,
                sd=own_sd,
                unit="mm",
                label=f"{label}, {side}, as it is to be set out",
                kind="setting out",
                remedy="measure it when the columns stand",
            )
            found[is_left] = Size(ids=(ctx.add(here, item),))
    if len(found) != 2:
        raise ctx.source.error(
            (*keys, "clear"),
            "both sides are needed here, or one size for both",
            code="JO056",
            value=", ".join(table.clear),
            limit=f"{{ {ctx.words.left} = ..., {ctx.words.right} = ... }}",
        )
    return found[True], found[False]
