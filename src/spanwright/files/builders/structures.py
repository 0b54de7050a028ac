"""The bridge: what is shared, its spans, and how they join its supports."""

from __future__ import annotations

from typing import Any

from spanwright.estimation.inputs import Size
from spanwright.files.builders import sizes
from spanwright.files.builders.context import Context
from spanwright.files.builders.supports import build_support
from spanwright.files.schema.base import BySide
from spanwright.files.schema.job import Bridge, Job
from spanwright.files.schema.job import Span as SpanTable
from spanwright.files.source import Keys
from spanwright.structures.given import (
    Packing,
    Span,
    StructuresInput,
)
from spanwright.survey.readings import Mark

#: What a span may leave to [bridge].
SHARED = ("spacing", "flange", "shoe", "shoe_along", "bearing_inset")
LABELS = {
    "spacing": "girder spacing",
    "flange": "flange width",
    "shoe": "shoe height",
    "shoe_along": "shoe length",
    "bearing_inset": "bearing inset",
}


def build_structures(
    ctx: Context, job: Job, layers: dict[str, Size], marks: dict[str, Mark], *, k: float
) -> StructuresInput | None:
    """Return the bridge, if the job has one.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.
    layers : dict
        Measured layers.
    marks : dict
        All marks.
    k : float
        Coverage factor. [1]

    Returns
    -------
    StructuresInput or None
        None if the file holds no ``[bridge]``.

    Raises
    ------
    InputError
        If a part is missing, named twice, or cannot be meant.
    """
    bridge = job.bridge
    if bridge is None:
        for key in ("supports", "spans"):
            if getattr(job, key):
                raise ctx.source.error(
                    (key,), f"there are {key}, but no [bridge]", code="JO050", hint="Add the table [bridge]"
                )
        return None
    keys: Keys = ("bridge",)
    for key, name in (("upper", bridge.upper), ("lower", bridge.lower)):
        ctx.choice((*keys, key), name, job.lines, what="there is no line of this name", code="JO022")
    if bridge.upper == bridge.lower:
        raise ctx.source.error(
            (*keys, "lower"), "a line does not cross itself", code="JO051", value=bridge.lower
        )
    for key in ("supports", "spans"):
        if not getattr(job, key):
            raise ctx.source.error(keys, f"the bridge has no [[{key}]]", code="JO050")
    for layer in ("rail", "bridge_tie"):
        if layer not in layers:
            raise ctx.source.error(
                ("layers",),
                f"the bridge needs the thickness of the layer {layer}",
                code="JO048",
                limit=f'in [layers]: {layer} = {{ is = "...", by = "caliper" }}',
            )
    shared = {
        name: sizes.measured(
            ctx, (*keys, name), table, f"bridge/{name}", label=f"{LABELS[name]} of all spans", by=bridge.by
        )
        for name in SHARED
        if (table := getattr(bridge, name)) is not None
    }
    _end_to_end(ctx, job)
    tie_width, tie_pitch = _ties(ctx, bridge)
    supports = tuple(build_support(ctx, n, s, marks) for n, s in enumerate(job.supports))
    spans = tuple(_span(ctx, n, s, shared) for n, s in enumerate(job.spans))
    return StructuresInput(
        upper=bridge.upper,
        lower=bridge.lower,
        spans=spans,
        supports=supports,
        rail=layers["rail"],
        tie=layers["bridge_tie"],
        dap=layers.get("dap"),
        packing=_packing(ctx, bridge),
        tie_overhang=ctx.length((*keys, "tie_overhang"), bridge.tie_overhang, least=0),
        tie_width=tie_width,
        tie_pitch=tie_pitch,
        end_gap=ctx.length((*keys, "end_gap"), bridge.end_gap, least=0),
        edge=ctx.length((*keys, "edge"), bridge.edge, least=0),
        k=k,
    )


def refuse_without_bridge(ctx: Context, job: Job, tables: tuple[str, ...]) -> None:
    """Refuse tables that say something of a bridge in a job that has none.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.
    tables : tuple of str
        Their names.

    Raises
    ------
    InputError
        If one of them is there.
    """
    for key in tables:
        if getattr(job, key) is not None:
            raise ctx.source.error(
                (key,),
                f"there is a [{key}], but no [bridge]",
                code="JO050",
                hint="Add the table [bridge]",
            )


def _ties(ctx: Context, bridge: Bridge) -> tuple[float, float]:
    """Return the width and the pitch of the bridge's ties."""
    width, pitch = (
        ctx.thickness(("bridge", key), getattr(bridge, key)) for key in ("tie_width", "tie_pitch")
    )
    if width >= pitch:
        raise ctx.source.error(
            ("bridge", "tie_pitch"),
            "these ties leave no gap between them",
            code="JO086",
            value=bridge.tie_pitch,
            limit=f"more than their width, {width:g} mm",
            hint="tie_pitch counts from middle to middle",
        )
    return width, pitch


def unit_names(ctx: Context, job: Job) -> tuple[tuple[str, ...], ...]:
    """Return the spans that are joined into rigid units, as the builder listed them.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.

    Returns
    -------
    tuple of tuple of str
        Names of spans, each unit in station order.

    Raises
    ------
    InputError
        If a unit names a span that is not there or stands in another, is not of neighbours, or is of one.
    """
    if job.bridge is None:
        return ()
    order = [span.name for span in job.spans]
    taken: set[str] = set()
    for k, unit in enumerate(job.bridge.units):
        keys: Keys = ("bridge", "units", k)
        for n, name in enumerate(unit):
            ctx.choice((*keys, n), name, order, what="there is no span of this name", code="JO082")
            if name in taken:
                raise ctx.source.error(
                    (*keys, n), "this span is joined twice", code="JO082", value=name, hint="Name it once"
                )
            taken.add(name)
        first = order.index(unit[0]) if unit else 0
        if len(unit) < 2 or list(unit) != order[first : first + len(unit)]:
            raise ctx.source.error(
                keys,
                "a unit joins two or more spans that follow one another",
                code="JO082",
                value=", ".join(unit),
                limit="spans in the order in which they stand",
            )
    return job.bridge.units


def _packing(ctx: Context, bridge: Bridge) -> Packing:
    keys: Keys = ("bridge", "packing")
    thinnest = ctx.length((*keys, "thinnest"), bridge.packing.thinnest, least=0)
    most = ctx.thickness((*keys, "most"), bridge.packing.most)
    if most < thinnest:
        raise ctx.source.error(
            (*keys, "most"),
            "the thickest packing is thinner than the thinnest",
            code="JO052",
            value=bridge.packing.most,
        )
    return Packing(thinnest=thinnest, most=most)


def _end_to_end(ctx: Context, job: Job) -> None:
    """Refuse spans that do not lead from each support to the next."""
    names = [s.name for s in job.supports]
    for key in ("supports", "spans"):
        listed = [part.name for part in getattr(job, key)]
        for k, name in enumerate(listed):
            if name in listed[:k]:
                raise ctx.source.error((key, k, "name"), "this name is used twice", code="JO016", value=name)
    if len(job.spans) != len(names) - 1:
        raise ctx.source.error(
            ("spans",),
            "the spans must lead from each support to the next",
            code="JO053",
            value=f"{len(job.spans)} spans and {len(names)} supports",
            limit=f"{len(names) - 1} spans",
        )
    if all(s.along is None and s.kind != "straddle bent" for s in job.supports):
        raise ctx.source.error(
            ("supports",),
            "nothing says where the supports stand",
            code="JO055",
            limit='along = "..." for one of them: from the crossing along the upper line, '
            f"positive towards {ctx.words.finish}",
        )
    for k, span in enumerate(job.spans):
        for key, written, wanted in (("from", span.start, names[k]), ("to", span.end, names[k + 1])):
            ctx.choice(
                ("spans", k, key), written, names, what="there is no support of this name", code="JO054"
            )
            if written != wanted:
                raise ctx.source.error(
                    ("spans", k, key),
                    "the spans must lead from each support to the next, in the order of the supports",
                    code="JO053",
                    value=written,
                    limit=repr(wanted),
                )


def _span(ctx: Context, number: int, table: SpanTable, shared: dict[str, Size]) -> Span:
    keys: Keys = ("spans", number)
    name = ctx.name((*keys, "name"), table.name)
    found = {}
    for key in SHARED:
        own = getattr(table, key)
        if own is not None:
            found[key] = sizes.measured(
                ctx, (*keys, key), own, f"spans/{name}/{key}", label=f"{LABELS[key]} of {name}", by=table.by
            )
        elif key in shared:
            found[key] = shared[key]
        else:
            raise ctx.source.error(
                keys,
                f"this span does not say its {LABELS[key]}",
                code="JO055",
                limit=f"{key} = ... here, or in [bridge] for all spans",
            )
    length = sizes.measured(
        ctx,
        (*keys, "length"),
        table.length,
        f"spans/{name}/length",
        label=f"girder length of {name}",
        by=table.by,
    )
    depths = _by_side(
        ctx,
        (*keys, "depth"),
        table.depth,
        f"spans/{name}/depth",
        label=f"girder depth of {name}",
        by=table.by,
    )
    return Span(
        name=name,
        start=table.start,
        end=table.end,
        length=length,
        depth_left=depths[0],
        depth_right=depths[1],
        spacing=found["spacing"],
        flange=found["flange"],
        shoe=found["shoe"],
        shoe_along=found["shoe_along"],
        bearing_inset=found["bearing_inset"],
        **_handrail(ctx, keys, table, name, found=found),
        **_details(ctx, keys, table),
    )


def _handrail(
    ctx: Context, keys: Keys, table: SpanTable, name: str, *, found: dict[str, Size]
) -> dict[str, Any]:
    """Return the handrail as fields of a span; none if the span has none."""
    rail = table.handrail
    if rail is None:
        return {}
    sides = {ctx.words.left: "left", ctx.words.right: "right", "both": "both"}
    here: Keys = (*keys, "handrail")
    word = ctx.choice(
        (*here, "side"), rail.side, sides, what="this is not a side for a handrail", code="JO015"
    )
    fields: dict[str, Any] = {"handrail_side": sides[word]}
    labels = {"offset": "span axis to the near face of the handrail", "height": "handrail above the ties"}
    for key, label in labels.items():
        ids, own = f"spans/{name}/handrail/{key}", getattr(rail, key)
        fields[f"handrail_{key}"] = sizes.measured(
            ctx, (*here, key), own, ids, label=f"{label} of {name}", by=table.by
        )
    edge = (sizes.mean(ctx, found["spacing"]) + sizes.mean(ctx, found["flange"])) / 2
    if sizes.mean(ctx, fields["handrail_offset"]) <= edge:
        raise ctx.source.error(
            (*here, "offset"),
            "this handrail stands over the girders, not beside them",
            code="JO067",
            value=sizes.as_read(rail.offset),
            limit=f"more than {edge:.3g} mm: half of girder spacing and flange width together",
            hint="offset counts from the middle between the girders to the near face of the handrail",
        )
    return fields


def _details(ctx: Context, keys: Keys, table: SpanTable) -> dict[str, Any]:
    """Return stiffeners, plates and rivets as fields of a span; what is not said keeps its default."""
    found: dict[str, Any] = {}
    if table.stiffeners is not None:
        found["stiffeners"] = table.stiffeners
    for key in ("plate", "rivet_height"):
        if (written := getattr(table, key)) is not None:
            found[key] = ctx.thickness((*keys, key), written)
    if table.rivet_pitch is not None:
        pitch = ctx.length((*keys, "rivet_pitch"), table.rivet_pitch, least=0)
        height = found.get("rivet_height", Span.__dataclass_fields__["rivet_height"].default)
        if 0 < pitch < 4 * height:
            raise ctx.source.error(
                (*keys, "rivet_pitch"),
                "the rivets stand closer than their heads allow",
                code="JO059",
                value=table.rivet_pitch,
                limit=f"0 for none, or {4 * height:g} mm at least: four times their height",
            )
        found["rivet_pitch"] = pitch
    return found


def _by_side(
    ctx: Context, keys: Keys, table: BySide, key: str, *, label: str, by: str | None
) -> tuple[Size, Size]:
    """Return the left and the right size; one size said for both is one size."""
    if set(table) == {"both"}:
        both = sizes.measured(ctx, keys, table["both"], key, label=label, by=by)
        return both, both
    found = {}
    for word, size in table.items():
        is_left = ctx.side((*keys, word), word)
        ids = f"{key}/{'left' if is_left else 'right'}"
        found[is_left] = sizes.measured(ctx, (*keys, word), size, ids, label=f"{label}, {word}", by=by)
    if len(found) != 2:
        raise ctx.source.error(
            keys,
            "both sides are needed here, or one size for both",
            code="JO056",
            value=", ".join(table),
            limit=f"{{ {ctx.words.left} = ..., {ctx.words.right} = ... }}",
        )
    return found[True], found[False]
