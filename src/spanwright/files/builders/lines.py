"""Lines of track: marks in station order with measured sizes, or a design by its elements."""

from __future__ import annotations

import math
from dataclasses import dataclass

from spanwright.alignment.given import Design, Element, ElementKind, LineInput, TrackKind
from spanwright.estimation.inputs import Input, Size
from spanwright.files.builders import sizes
from spanwright.files.builders.context import Context, with_article
from spanwright.files.builders.marks import known_mark
from spanwright.files.schema.job import Corner
from spanwright.files.schema.job import Element as ElementTable
from spanwright.files.schema.job import Line as LineTable
from spanwright.files.schema.survey import Survey as SurveyTable
from spanwright.files.source import Keys
from spanwright.survey.readings import Datum, DatumKind, Mark, Rail

FEWEST = 3  # marks on a line: two say nothing of its curve
STRAY = 0.5  # mm: how far track may be laid off its design (common practice, no source)
GAUGE_OFF = 0.15  # of the gauge: worn and widened track is off by less (common practice, no source)
CANT_SHARE = 1 / 15  # of the gauge: the greatest cant of NEM 114 (MOROP, 2007)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized:
    """What the readings need to know of a line before it is built.

    Parameters
    ----------
    gauge : Size
        Track gauge.
    rail_head : Size
        Width of the rail head.
    order : tuple of str
        Marks in growing station.
    """

    gauge: Size
    rail_head: Size
    order: tuple[str, ...]


def size_lines(
    ctx: Context, tables: dict[str, LineTable], marks: dict[str, Mark], *, wanted: float
) -> dict[str, Sized]:
    """Return the sizes of each line and the order of its marks.

    Parameters
    ----------
    ctx : Context
        The loading.
    tables : dict
        The ``[lines.NAME]`` tables.
    marks : dict
        All marks.
    wanted : float
        The job's gauge. [mm]

    Returns
    -------
    dict
        By name of the line.

    Raises
    ------
    InputError
        If a gauge as measured is far off the job's, or a rail head wider than the gauge.
    """
    found = {}
    for name, table in tables.items():
        keys: Keys = ("lines", name)
        ctx.name(keys, name)
        order = () if table.elements is not None else _order(ctx, name, table, marks)
        gauge = sizes.measured(
            ctx, (*keys, "gauge"), table.gauge, f"lines/{name}/gauge", label=f"gauge of {name}", by=table.by
        )
        _near_the_gauge(ctx, (*keys, "gauge"), table, gauge, wanted=wanted)
        label = f"rail head width of {name}"
        head = sizes.measured(
            ctx, (*keys, "rail_head"), table.rail_head, f"lines/{name}/rail_head", label=label, by=table.by
        )
        if sizes.mean(ctx, head) >= sizes.mean(ctx, gauge):
            raise ctx.source.error(
                (*keys, "rail_head"),
                "the rail head is wider than the gauge",
                code="JO031",
                value=table.rail_head.readings[0],
            )
        found[name] = Sized(gauge=gauge, rail_head=head, order=order)
    return found


def _near_the_gauge(ctx: Context, keys: Keys, table: LineTable, gauge: Size, *, wanted: float) -> None:
    for k, key in enumerate(gauge.ids):
        if abs(ctx.inputs[key].value - wanted) > GAUGE_OFF * wanted:
            raise ctx.source.error(
                (*keys, "is", k),
                "this gauge as measured is not the gauge of the job",
                code="JO065",
                value=table.gauge.readings[k],
                limit=f"{wanted:g} mm, at most {100 * GAUGE_OFF:g} % off",
                hint="Measure between the inner faces of the rails, or correct gauge at the top of the file",
            )


def _order(ctx: Context, name: str, table: LineTable, marks: dict[str, Mark]) -> tuple[str, ...]:
    keys: Keys = ("lines", name)
    groups = [key for key, value in ctx.source.values["marks"].items() if _is_group_of(value, name)]
    if table.marks is None:
        if len(groups) > 1:
            raise ctx.source.error(
                keys,
                f"the marks of this line stand in several groups ({', '.join(groups)}), in no plain order",
                code="JO032",
                limit="marks = [...], in station order",
            )
        order = tuple(m.name for m in marks.values() if m.line == name)
    else:
        order = table.marks
        keys = (*keys, "marks")
    for k, mark in enumerate(order):
        known_mark(ctx, (*keys, k), mark, marks)
        if marks[mark].line != name:
            raise ctx.source.error(
                (*keys, k), f"this mark is not on the line {name}", code="JO033", value=mark
            )
        if mark in order[:k]:
            raise ctx.source.error((*keys, k), "this mark stands twice on the line", code="JO020", value=mark)
    if len(order) < FEWEST:
        raise ctx.source.error(
            keys,
            f"the line {name} has too few marks to find its curve",
            code="JO034",
            value=len(order),
            limit=f"at least {FEWEST}, better 7 or more",
            hint="Survey more marks along it, also beyond the bridge",
        )
    return order


def _is_group_of(value: object, line: str) -> bool:
    return isinstance(value, dict) and value.get("line") == line


def build_lines(
    ctx: Context,
    tables: dict[str, LineTable],
    sized: dict[str, Sized],
    survey: SurveyTable,
    *,
    marks: dict[str, Mark],
    datum: Datum,
) -> tuple[LineInput, ...]:
    """Return the lines.

    Parameters
    ----------
    ctx : Context
        The loading.
    tables : dict
        The ``[lines.NAME]`` tables.
    sized : dict
        Their sizes and orders.
    survey : SurveyTable
        The readings, to see whether the cant was measured.
    marks : dict
        All marks.
    datum : Datum
        The datum, where a design starts at a mark.

    Returns
    -------
    tuple of LineInput
        In the order of the file.
    """
    lines = []
    for name, table in tables.items():
        design, assumed = None, ""
        if table.elements is None:
            _no_design_keys(ctx, name, table)
            assumed = _cant(ctx, name, table, survey, marks=marks, sized=sized[name])
        else:
            design = _design(ctx, name, table, datum)
        lines.append(
            LineInput(
                name=name,
                marks=sized[name].order,
                track=TrackKind(table.track),
                gauge=sized[name].gauge,
                rail_head=sized[name].rail_head,
                curves=table.curves,
                design=design,
                cant_assumed=assumed,
                **_moves(ctx, name, table),
            )
        )
    return tuple(lines)


def _moves(ctx: Context, name: str, table: LineTable) -> dict[str, str]:
    """Return the ids of what may move: the whole line up or down, and its cant."""
    keys: Keys = ("lines", name)
    change = table.cant_change
    canted = 0.0
    if change is not None:
        here: Keys = (*keys, "cant_change")
        by = ctx.length((*here, "by"), change.by)
        canted = -by if ctx.side((*here, "high"), change.high) else by
    return {
        "raised": sizes.free(
            ctx,
            (*keys, "raise"),
            f"lines/{name}/raise",
            value=ctx.length((*keys, "raise"), table.raised),
            label=f"line {name} raised from where it lies",
        ),
        "canted": sizes.free(
            ctx,
            (*keys, "cant_change"),
            f"lines/{name}/cant change",
            value=canted,
            label=f"cant of line {name} changed, {ctx.words.right} rail up",
        ),
    }


def _no_design_keys(ctx: Context, name: str, table: LineTable) -> None:
    for key in ("start", "towards", "heading", "heights", "strays_plan", "strays_height"):
        if getattr(table, key) is not None:
            raise ctx.source.error(
                ("lines", name, key),
                "only a designed line has this key",
                code="JO035",
                hint="Add elements = [...] for a designed line, or leave it out",
            )


def _cant(
    ctx: Context, name: str, table: LineTable, survey: SurveyTable, *, marks: dict[str, Mark], sized: Sized
) -> str:
    keys: Keys = ("lines", name)
    read = any(marks[c.at].line == name for c in survey.cross_levels if c.at in marks)
    rails = {m.rail for m in marks.values() if m.line == name}
    if table.cant is None:
        raise ctx.source.error(
            keys,
            "this line does not say whether its cant was measured",
            code="JO036",
            limit='cant = "measured" or cant = "not measured"',
        )
    if table.cant == "measured":
        if not read and not {Rail.LEFT, Rail.RIGHT} <= rails:
            raise ctx.source.error(
                (*keys, "cant"),
                "no cross level on this line is in the survey, nor marks on both of its rails",
                code="JO036",
                value=table.cant,
                hint='Add readings under cross_levels, or say cant = "not measured"',
            )
        return ""
    if read:
        raise ctx.source.error(
            (*keys, "cant"),
            "the survey holds cross levels on this line",
            code="JO036",
            value=table.cant,
            limit="measured",
        )
    sd = sizes.mean(ctx, sized.gauge) * CANT_SHARE
    label = (
        f"cant of {name}, not measured (the bound of NEM 114, 2007, a fifteenth of the gauge, taken as doubt)"
    )
    return ctx.add(
        keys,
        Input(
            id=f"lines/{name}/cant",
            value=0.0,
            sd=sd,
            unit="mm",
            label=label,
            kind="unseen",
            remedy=f"read the cross level of {name} at the bridge, with a feeler if you can",
        ),
    )


def _design(ctx: Context, name: str, table: LineTable, datum: Datum) -> Design:
    keys: Keys = ("lines", name)
    for key in ("marks", "cant"):
        if getattr(table, key) is not None:
            raise ctx.source.error(
                (*keys, key), "a designed line does not have this key", code="JO035", hint="Leave it out"
            )
    if not table.elements or not table.heights:
        raise ctx.source.error(keys, "a designed line needs elements and heights", code="JO037")
    x, y = _start(ctx, keys, table, datum)
    stray = f"how far {name} may be laid off its design"
    return Design(
        x=x,
        y=y,
        heading=_heading(ctx, keys, table, start=(x, y), datum=datum),
        elements=tuple(_element(ctx, (*keys, "elements", k), e) for k, e in enumerate(table.elements)),
        heights=_corners(ctx, (*keys, "heights"), table.heights, "height"),
        vertical_curve=ctx.length((*keys, "vertical_curve"), table.vertical_curve, least=0),
        cants=_corners(ctx, (*keys, "cants"), table.cants, "cant"),
        plan_doubt=sizes.still_to_do(
            ctx,
            (*keys, "strays_plan"),
            f"lines/{name}/plan",
            table.strays_plan,
            default=STRAY,
            label=f"{stray}, sideways",
            kind="setting out",
        ),
        along_doubt=sizes.still_to_do(
            ctx,
            (*keys, "strays_plan"),
            f"lines/{name}/along",
            table.strays_plan,
            default=STRAY,
            label=f"{stray}, along its first direction",
            kind="setting out",
        ),
        height_doubt=sizes.still_to_do(
            ctx,
            (*keys, "strays_height"),
            f"lines/{name}/height",
            table.strays_height,
            default=STRAY,
            label=f"{stray}, in height",
            kind="setting out",
        ),
    )


def _element(ctx: Context, keys: Keys, table: ElementTable) -> Element:
    length = ctx.thickness((*keys, "length"), table.length)
    kind = ElementKind(table.kind)
    if kind is not ElementKind.ARC:
        for key in ("radius", "turn"):
            if getattr(table, key) is not None:
                raise ctx.source.error(
                    (*keys, key),
                    f"{with_article(table.kind)} has no {key}",
                    code="JO038",
                    hint="An easement joins its neighbours",
                )
        return Element(kind=kind, length=length)
    if table.radius is None or table.turn is None:
        raise ctx.source.error(
            keys,
            "an arc needs its radius and the side to which it turns",
            code="JO038",
            limit=f'radius = "600", turn = "{ctx.words.left}" or "{ctx.words.right}"',
        )
    radius = ctx.thickness((*keys, "radius"), table.radius)
    return Element(
        kind=kind, length=length, radius=radius if ctx.side((*keys, "turn"), table.turn) else -radius
    )


def _corners(
    ctx: Context, keys: Keys, table: tuple[Corner, ...], what: str
) -> tuple[tuple[float, float], ...]:
    found: list[tuple[float, float]] = []
    other = "height" if what == "cant" else "cant"
    for k, corner in enumerate(table):
        here = (*keys, k)
        written = getattr(corner, what)
        if written is None or getattr(corner, other) is not None or (what == "height" and corner.high):
            raise ctx.source.error(here, f"each corner here says along and {what}", code="JO039")
        along = ctx.length((*here, "along"), corner.along)
        if found and along <= found[-1][0]:
            raise ctx.source.error(
                (*here, "along"), "the corners must stand in order of along", code="JO039", value=corner.along
            )
        value = ctx.length((*here, what), written, least=0 if what == "cant" else -math.inf)
        if what == "cant" and value != 0:
            if corner.high is None:
                raise ctx.source.error(
                    here, "this cant does not say which rail is high", code="JO039", limit=_sides(ctx)
                )
            value = -value if ctx.side((*here, "high"), corner.high) else value
        found.append((along, value))
    return tuple(found)


def _sides(ctx: Context) -> str:
    return f'high = "{ctx.words.left}" or "{ctx.words.right}"'


def _known_place(datum: Datum, mark: str) -> tuple[float, float] | None:
    if datum.kind is DatumKind.MINIMAL and mark == datum.at:
        return (0.0, 0.0)
    held = {axis: value for name, axis, value in datum.fixed if name == mark}
    return (held["x"], held["y"]) if "x" in held and "y" in held else None


def _start(ctx: Context, keys: Keys, table: LineTable, datum: Datum) -> tuple[float, float]:
    here = (*keys, "start")
    if table.start is None:
        raise ctx.source.error(
            keys, "a designed line needs its start", code="JO037", limit='start = ["0", "0"]'
        )
    if len(table.start) == 2:
        return ctx.length((*here, 0), table.start[0]), ctx.length((*here, 1), table.start[1])
    place = _known_place(datum, str(table.start[0])) if len(table.start) == 1 else None
    if place is None:
        raise ctx.source.error(
            here,
            "a design starts at x and y, or at a mark that the datum holds",
            code="JO037",
            value=table.start[0],
            limit='start = ["0", "0"]',
        )
    return place


def _heading(
    ctx: Context, keys: Keys, table: LineTable, *, start: tuple[float, float], datum: Datum
) -> float:
    if (table.heading is None) == (table.towards is None):
        raise ctx.source.error(
            keys,
            "a designed line needs heading or towards, and not both",
            code="JO037",
            limit='heading = "12 deg"',
        )
    if table.heading is not None:
        return ctx.angle((*keys, "heading"), table.heading)
    mark = str(table.towards)
    if datum.kind is DatumKind.MINIMAL and mark == datum.towards and start == (0.0, 0.0):
        return 0.0
    place = _known_place(datum, mark)
    if place is None or place == start:
        raise ctx.source.error(
            (*keys, "towards"),
            "the direction to this mark is not known before the survey is adjusted",
            code="JO037",
            value=mark,
            limit='heading = "12 deg" (from the x axis, to the left), or a mark that the datum holds',
        )
    return math.atan2(place[1] - start[1], place[0] - start[0])
