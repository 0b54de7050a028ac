"""Cross-sections as they are written: widths at heights, or five numbers, the same to both sides."""

from __future__ import annotations

import numpy as np

from spanwright.files.builders.context import Context
from spanwright.files.builders.trains.likened import Likened
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.job import Body, Five, Section, Shadow
from spanwright.files.source import Keys
from spanwright.handbook.outlines import (
    FiveNumbers,
    Outline,
    by_proportion,
    five_outline,
    raised,
)
from spanwright.handbook.vehicles import RIDES_HIGHER

FloatArray = np.ndarray

#: A point picked so little below the rails is taken to lie on them (common practice, no source). [mm]
BELOW = 0.3
SHAPES = ("five", "outline", "polygon", "shadow")
_NEEDED = ("height", "foot", "waist", "eaves", "roof")


def own_shape(table: Body | Section) -> str | None:
    """Return which kind of cross-section a table gives.

    Parameters
    ----------
    table : Body or Section
        A body, or one section of it.

    Returns
    -------
    str or None
        ``five``, ``outline``, ``polygon`` or ``shadow``; None if it gives none of them, or more than one.
    """
    given = shapes_given(table)
    return given[0] if len(given) == 1 else None


def shapes_given(table: Body | Section) -> tuple[str, ...]:
    """Return all the ways in which a table gives its cross-section; it should be one.

    Parameters
    ----------
    table : Body or Section
        A body, or one section of it.

    Returns
    -------
    tuple of str
        Some of ``five``, ``outline``, ``polygon`` and ``shadow``.
    """
    return tuple(key for key in SHAPES if getattr(table, key, None) is not None)


def corners_of_shadow(ctx: Context, keys: Keys, table: Shadow) -> FloatArray:
    """Return the polygon of points that were picked on a picture of a vehicle's end or of its shadow.

    The two points on the rails give scale, level and middle: one scale, so all points must lie in one
    plane square to the view (a shadow on a card does; a camera close by makes what is nearer larger).

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where it stands.
    table : Shadow
        Points in pixels, x to the right and y down.

    Returns
    -------
    ndarray, shape (m, 2)
        (left of centre, height above railhead). [mm]

    Raises
    ------
    InputError
        If the rails are one point, or a corner lies below them.
    """
    first, second = (np.array(p) for p in table.rails)
    apart = ctx.thickness((*keys, "apart"), table.apart)
    pixels = float(np.hypot(*(second - first)))
    if pixels < 1.0:
        raise ctx.source.error(
            (*keys, "rails"),
            "these two points do not give a scale",
            code="JO062",
            value=[list(p) for p in table.rails],
            limit="a point on each rail, the same place on both",
        )
    right = (second - first) / pixels * (1.0 if second[0] >= first[0] else -1.0)
    up = np.array([right[1], -right[0]])
    local = (np.array(table.points, dtype=float) - 0.5 * (first + second)) * (apart / pixels)
    corners = np.column_stack([-(local @ right), local @ up])
    low = int(np.argmin(corners[:, 1]))
    if corners[low, 1] < -BELOW:
        raise ctx.source.error(
            (*keys, "points", low),
            "this point lies below the rails",
            code="JO062",
            value=list(table.points[low]),
            limit="y counts downward in a picture; points above the railhead only",
        )
    corners[:, 1] = np.where(corners[:, 1] < 0.0, 0.0, corners[:, 1])
    return corners


def corners_of(outline: Outline) -> FloatArray:
    """Return the polygon of full widths at heights, the same to both sides.

    Parameters
    ----------
    outline : tuple
        Heights and full widths, from the bottom up. [mm]

    Returns
    -------
    ndarray, shape (m, 2)
        (left of centre, height above railhead). [mm]
    """
    right = [(-w / 2, h) for h, w in outline]
    left = [(w / 2, h) for h, w in reversed(outline)]
    corners = right + [p for p in left if p[0] > 0]
    return np.array(corners)


def read_outline(
    ctx: Context, keys: Keys, table: Body | Section, model: Likened | None
) -> tuple[Outline, tuple[str, ...]]:
    """Return the outline that a table writes, or that of its five numbers.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where the body stands.
    table : Body or Section
        Its table.
    model : Likened or None
        The vehicle of the handbook that it is like; its five numbers serve where none are given.

    Returns
    -------
    outline : tuple
        Heights and full widths.
    notes : tuple of str
        What is to be said of it.
    """
    if table.outline is not None:
        return _listed(ctx, (*keys, "outline"), table.outline), ()
    five = getattr(table, "five", None) or Five()
    return _five(ctx, keys, five, model)


def _listed(ctx: Context, keys: Keys, pairs: tuple[tuple[Quantity, Quantity], ...]) -> Outline:
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
    return tuple(zip(heights, widths, strict=True))


def _five(ctx: Context, keys: Keys, five: Five, model: Likened | None) -> tuple[Outline, tuple[str, ...]]:
    """Return the outline of five numbers; those of the handbook serve where the table is silent."""
    here = (*keys, "five")
    base = model.sizes.five if model else None
    written = {
        key: ctx.length((*here, key), value, least=0)
        for key in FiveNumbers.__dataclass_fields__
        if (value := getattr(five, key)) is not None
    }
    sizes = written if base is None else _completed(base, written)
    missing = [key for key in _NEEDED if key not in sizes]
    if missing:
        raise ctx.source.error(
            here,
            f"the five numbers lack {', '.join(missing)}",
            code="JO060",
            limit='five = { height = "36.6", foot = "17", waist = "20.2", eaves = "20.2", roof = "13" }',
            hint="Height over all, full widths at foot, waist and eaves, width of the roof's flat",
        )
    if sizes["height"] <= 0:
        ctx.thickness((*here, "height"), five.height if five.height is not None else 0)
    numbers = FiveNumbers(**sizes)
    outline = ctx.placed(here, lambda: five_outline(numbers))
    if model and "height" not in written:
        outline = raised(outline, RIDES_HIGHER)
    taken = by_proportion(numbers)
    if not taken:
        return outline, ()
    which = " and ".join([", ".join(taken[:-1]), taken[-1]]) if len(taken) > 1 else taken[0]
    what = "heights are" if len(taken) > 1 else "height is"
    return outline, (
        f"the {which} {what} taken as a share of the height over all (common practice, no source; wide from"
        " low down to high up, on the safe side)",
    )


def _completed(base: FiveNumbers, written: dict[str, float]) -> dict[str, float]:
    """Return five numbers of the handbook with those that were measured; other heights follow the height.

    A taller model gets higher eaves, but its foot and waist are not taken to be higher for that.
    """
    sizes = {key: float(getattr(base, key)) for key in FiveNumbers.__dataclass_fields__}
    share = written.get("height", base.height) / base.height
    sizes["eaves_height"] *= share
    for key in ("foot_height", "waist_height"):
        sizes[key] *= min(share, 1.0)
    return sizes | written
