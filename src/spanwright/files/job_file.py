"""The job file: from a path to a frozen job, or one message that says what is wrong and where.

:func:`load_job` reads in three steps. ``source`` opens the file and makes sure that it is TOML.
``schema`` holds it against the tables that may be written. The ``builders`` turn what was written
into the input of each stage: lengths into millimetres, words into sides, readings into base inputs
with their doubts. The file is opened for reading only.
"""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import partial
from math import hypot
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from spanwright.drawings.speech import Words
from spanwright.errors import InputError
from spanwright.estimation.inputs import Inputs
from spanwright.files.builders.clearance import build_clearance
from spanwright.files.builders.context import Context
from spanwright.files.builders.gathered import Gathered
from spanwright.files.builders.lines import build_lines, size_lines
from spanwright.files.builders.making.done import build_made, build_measured, standing
from spanwright.files.builders.making.fixed import build_fixed
from spanwright.files.builders.making.parts import build_parts, build_printer
from spanwright.files.builders.making.portals import build_portals
from spanwright.files.builders.making.shelf import build_packing
from spanwright.files.builders.making.times import build_times
from spanwright.files.builders.marks import build_datum, build_marks
from spanwright.files.builders.readings import build_readings, check_marks
from spanwright.files.builders.structures import build_structures
from spanwright.files.builders.surfaces import Surfaces, build_layers
from spanwright.files.builders.tools import Measure, default_tools, listed_tool
from spanwright.files.schema.job import Job as JobTable
from spanwright.files.source import Keys, Plain, Source, listed, nearest, read_source, source_of
from spanwright.job import Job
from spanwright.survey.readings import SurveyInput
from spanwright.units import parse_scale

FORMAT = 1


def load_job(path: str | Path) -> Job:
    """Read a job.

    Parameters
    ----------
    path : str or Path
        The job folder, or the job file in it.

    Returns
    -------
    Job
        Ready to be derived.

    Raises
    ------
    FileFormatError
        If there is no readable TOML file.
    InputError
        If something in it cannot be meant; the message names file, line and key.
    """
    source = read_source(path)
    return build_job(source, checked(source))


def job_of(text: str, name: str) -> Job:
    """Read a job from the text of its file.

    Parameters
    ----------
    text : str
        The text.
    name : str
        What messages call the file.

    Returns
    -------
    Job
        Ready to be derived.

    Raises
    ------
    FileFormatError
        If it is not TOML.
    InputError
        If something in it cannot be meant.
    """
    source = source_of(text, name)
    return build_job(source, checked(source))


def checked(source: Source) -> JobTable:
    """Hold the file against the tables that may be written.

    Parameters
    ----------
    source : Source
        The file.

    Returns
    -------
    Job
        Its tables.

    Raises
    ------
    InputError
        For the first thing in the file that fits no table.
    """
    number = source.values.get("format")
    if "format" not in source.values:
        raise source.error(
            (),
            "this file does not say that it is a job file: it has no format",
            code="FI007",
            limit=f"format = {FORMAT} at its top",
            hint="Add it, or name another file",
        )
    if isinstance(number, bool) or number != FORMAT:
        raise source.error(
            ("format",),
            "this is not a job file of this kind",
            code="FI007",
            value=number,
            limit=f"format = {FORMAT}",
            hint="A newer number needs a newer version of the program",
        )
    try:
        return JobTable.model_validate(source.values)
    except ValidationError as problem:
        raise min(
            (_spelt_out(source, error) for error in problem.errors(include_url=False)), key=lambda e: e[0]
        )[1] from None


_EXPECTED = {
    "string_type": "text in quotes",
    "tuple_type": "a list [ ... ]",
    "list_type": "a list [ ... ]",
    "dict_type": "a table { ... }",
    "model_type": "a table { ... }",
    "model_attributes_type": "a table { ... }",
    "int_type": "a whole number",
    "bool_type": "true or false",
    "too_short": "one value at least",
    "quantity": 'a number, or text such as "12.7 mm"',
}


def _spelt_out(source: Source, error: Any) -> tuple[int, InputError]:
    """Return the line of a schema error and the error in the user's words."""
    keys: Keys = tuple(k if isinstance(k, int) else str(k) for k in error["loc"])
    kind, ctx, value = error["type"], error.get("ctx", {}), error["input"]
    if kind == "unknown_key":
        key, known = ctx["key"], ctx["known"]
        keys = (*keys, key)
        guess = nearest(key, known)
        found = source.error(
            keys,
            "there is no such key here",
            code="JO001",
            value=key,
            limit=f"one of: {listed(known)}",
            hint=f"Did you mean {guess!r}?" if guess else "",
        )
    elif kind == "missing" and isinstance(keys[-1], int):
        found = source.error(
            keys[:-1],
            "this list is too short",
            code="JO004",
            value=value,
            limit=f"{keys[-1] + 1} entries or more",
        )
    elif kind == "missing":
        place = "here" if len(keys) > 1 else "at the top of the file, before the first table, or as a table"
        what = f"the key {str(keys[-1])!r} is missing {place}"
        found = source.error(keys[:-1], what, code="JO002", hint="Add it")
    elif kind == "literal_error":
        found = source.error(
            keys,
            "this word is not one that is known here",
            code="JO003",
            value=value,
            limit=ctx["expected"],
            hint=_guess(value, ctx["expected"]),
        )
    else:
        limit = _LIMITS[kind].format(**ctx) if kind in _LIMITS else _EXPECTED.get(kind, error["msg"])
        limit = _SIZE if ctx.get("class_name") == "Size" else limit
        shown = value if isinstance(value, (str, int, float)) else Plain(f"a {_kind_of(value)}")
        hint = _HINTS.get((kind, str(keys[-1]) if keys else ""), "")
        found = source.error(
            keys, "this cannot stand here", code="JO004", value=shown, limit=limit, hint=hint
        )
    while keys and keys not in source.lines:
        keys = keys[:-1]
    return source.lines.get(keys, 10**9), found


_SIZE = 'a size such as "12.7 mm", or { is = "12.7 mm", by = "caliper" }'

#: The same for those whose limit is a number.
_LIMITS = {
    "too_long": "{max_length} entries",
    "greater_than_equal": "{ge} or more",
    "less_than_equal": "{le} or less",
}

_HINTS = {
    ("less_than_equal", "curves"): "Count only the curves of the stretch that was surveyed",
}


def _guess(value: object, expected: str) -> str:
    guess = nearest(str(value), [part.strip("' ") for part in expected.replace(" or ", ",").split(",")])
    return f"Did you mean {guess!r}?" if guess else ""


def _kind_of(value: object) -> str:
    if isinstance(value, (datetime.date, datetime.time)):
        return "date or time"
    return "table" if isinstance(value, dict) else "list" if isinstance(value, (list, tuple)) else "value"


def build_job(source: Source, table: JobTable) -> Job:
    """Turn checked tables into a job.

    Parameters
    ----------
    source : Source
        The file, for the places of errors.
    table : JobTable
        Its tables.

    Returns
    -------
    Job
        Ready to be derived.

    Raises
    ------
    InputError
        If something in it cannot be meant.
    """
    ctx = _context(source, table)
    ctx.name(("name",), table.name, in_ids=False)
    gauge = ctx.thickness(("gauge",), table.gauge)
    k = _coverage(ctx, table)
    layers = build_layers(ctx, table.layers)
    marks, own_surfaces = build_marks(ctx, table.marks, list(table.lines))
    datum = build_datum(ctx, table.datum, marks)
    sized = size_lines(ctx, table.lines, marks, wanted=gauge)
    surfaces = Surfaces(ctx=ctx, own=own_surfaces, layers=layers)
    gathered = Gathered(ctx=ctx, marks=marks, lines=sized, surfaces=surfaces, wanted=gauge)
    set_aside = build_readings(gathered, table.survey)
    check_marks(gathered, {name: line.order for name, line in sized.items()}, datum, set_aside)
    lines = build_lines(ctx, table.lines, sized, table.survey, marks=marks, datum=datum)
    structures = build_structures(ctx, table, layers, marks, k=k)
    made = build_made(ctx, table, structures)
    if structures is not None:
        structures = replace(structures, standing=standing(made))
    clearance = build_clearance(ctx, table, k=k, gauge=gauge)
    portals = build_portals(ctx, table, lines, clearance, gauge=gauge)
    parts = build_parts(ctx, table, lines)
    packing = build_packing(ctx, table, gauge=gauge)
    readings = build_measured(ctx, table)  # adds the errors of its tools to the base inputs
    return Job(
        name=table.name,
        scale=ctx.scale,
        gauge=gauge,
        words=ctx.words,
        inputs=Inputs(items=tuple(ctx.inputs.values())),
        survey=SurveyInput(
            marks=tuple(marks.values()),
            readings=tuple(gathered.readings),
            datum=datum,
            shared=tuple(gathered.shared),
            set_aside=set_aside,
        ),
        lines=lines,
        structures=structures,
        clearance=clearance,
        parts=parts,
        packing=packing,
        fixed=build_fixed(ctx, table, lines),
        portals=portals,
        printer=build_printer(ctx, table),
        build=build_times(ctx, table),
        made=made,
        measured=readings,
        tools={t.name: hypot(t.sd, t.zero) for t in ctx.tools.values() if t.measure is Measure.LENGTH},
    )


def _context(source: Source, table: JobTable) -> Context:
    words = Words(
        left=table.sides.left,
        right=table.sides.right,
        start=table.ends.start,
        finish=table.ends.finish,
        unit=table.unit,
    )
    ctx = Context(
        source=source, unit=table.unit, scale=_scale(source, table), words=words, tools=default_tools()
    )
    pairs = (("sides", "left", "right"), ("ends", "start", "finish"))
    for key, first, second in pairs:
        both = [getattr(getattr(table, key), name) for name in (first, second)]
        for name, word in zip((first, second), both, strict=True):
            ctx.name((key, name), word)
        if both[0] == both[1] or "both" in both or both in (["right", "left"],):
            raise source.error(
                (key,), "these two words cannot tell one from the other", code="JO018", value=", ".join(both)
            )
    for name, tool in table.tools.items():
        ctx.name(("tools", name), name)
        ctx.tools[name] = ctx.placed(("tools", name), partial(listed_tool, name, tool, table.unit))
    return ctx


def _scale(source: Source, table: JobTable) -> Any:
    try:
        return parse_scale(table.scale)
    except InputError as error:
        raise source.error(
            ("scale",), error.what, code=error.code, value=error.value, limit=error.limit
        ) from None


def _coverage(ctx: Context, table: JobTable) -> float:
    written = table.k
    if isinstance(written, str) or not 1 <= written <= 5:
        raise ctx.source.error(
            ("k",),
            "this coverage factor cannot be meant",
            code="JO019",
            value=written,
            limit="a number from 1 to 5; 2 is usual",
        )
    return float(written)
