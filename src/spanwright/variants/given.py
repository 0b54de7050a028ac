"""What two jobs were given: whether their readings are the same, and what was decided otherwise.

Two plans can be held against each other only if both rest on the same readings of the same place. These are
looked up in the jobs, so that ``1 in`` and ``25.4 mm`` are the same; decisions are looked up in what the
files say, since a form or a name has no number.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import isclose
from typing import Any

from spanwright.drawings.speech import Speech
from spanwright.estimation.inputs import Input
from spanwright.estimation.keeping import same
from spanwright.job import Job
from spanwright.parts.listing.piece import NOT_BUILT, NOT_MADE

Values = dict[str, Any]
_ABSENT: Any = object()
#: Tables that hold readings, facts or words, not decisions.
_NO_DECISIONS = frozenset(
    {"format", "name", "unit", "sides", "ends", "printer", "scale", "gauge"}
    | {"marks", "datum", "survey", "tools", "layers", "fixed", "measured", "made"}
)
#: Keys of a line that say how it lies, not how it is to be.
_LIES = frozenset({"gauge", "rail_head", "track", "by", "curves", "marks", "cant"})
#: Where the ids of sizes begin that belong to parts of the bridge.
_BRIDGE = ("bridge/", "supports/", "spans/")


@dataclass(frozen=True, slots=True, kw_only=True)
class Otherwise:
    """One thing that two jobs say differently.

    Parameters
    ----------
    what : str
        What it is.
    one : str
        What the one says; ``-`` for nothing.
    other : str
        What the other says.
    """

    what: str
    one: str
    other: str


def other_readings(one: Job, other: Job, values: tuple[Values, Values], say: Speech) -> tuple[Otherwise, ...]:
    """Return the readings, and facts of the place, that are not the same in two jobs.

    Parameters
    ----------
    one : Job
        The one.
    other : Job
        The other.
    values : tuple of dict
        What their files say.
    say : Speech
        How numbers are said.

    Returns
    -------
    tuple of Otherwise
        Empty for a fair comparison.
    """
    found: list[Otherwise] = []
    for what, a, b in (
        ("scale", f"1:{float(one.scale):g}", f"1:{float(other.scale):g}"),
        ("gauge", say.plain(one.gauge, 2), say.plain(other.gauge, 2)),
        ("set aside", _listed(one.survey.set_aside), _listed(other.survey.set_aside)),
    ):
        if a != b:
            found.append(Otherwise(what=what, one=a, other=b))
    if not same(one.survey.datum, other.survey.datum):
        found.append(Otherwise(what="datum", one="as given", other="otherwise"))
    found += _named("mark", {m.name: m for m in one.survey.marks}, {m.name: m for m in other.survey.marks})
    kinds = [{r.id: (r.kind, r.marks) for r in job.survey.readings} for job in (one, other)]
    found += [
        Otherwise(what=f"reading {key}", one=_of_reading(kinds[0][key]), other=_of_reading(kinds[1][key]))
        for key in kinds[0]
        if key in kinds[1] and kinds[0][key] != kinds[1][key]
    ]
    found += _inputs(one, other, say, of_the_bridge=False)
    found += _vehicles(one, other)
    found += _named("beside the track", {f.name: f for f in one.fixed}, {f.name: f for f in other.fixed})
    lies = [
        {
            name: {k: v for k, v in line.items() if k in _LIES - {"gauge", "rail_head", "by"}}
            for name, line in x
        }
        for x in (_lines(values[0]).items(), _lines(values[1]).items())
    ]
    rows = _differing(("lines",), lies[0], lies[1])
    found += [_otherwise(*row) for row in rows]
    found += _named("reading", {m.id: m for m in one.measured}, {m.id: m for m in other.measured})
    return tuple(found)


def other_sizes(one: Job, other: Job, say: Speech) -> tuple[Otherwise, ...]:
    """Return the measured sizes of parts of the bridge that are not the same in two jobs.

    They may be other parts, or other readings of the same ones: the files do not say which.

    Parameters
    ----------
    one : Job
        The one.
    other : Job
        The other.
    say : Speech
        How numbers are said.

    Returns
    -------
    tuple of Otherwise
        In the order of the job.
    """
    return tuple(_inputs(one, other, say, of_the_bridge=True))


def decided_otherwise(one: Job, other: Job, values: tuple[Values, Values]) -> tuple[Otherwise, ...]:
    """Return what two job files decide differently.

    Parameters
    ----------
    one : Job
        The one.
    other : Job
        The other.
    values : tuple of dict
        What their files say.

    Returns
    -------
    tuple of Otherwise
        In the order of the tables; entries of a list are matched by their names. Sizes that were measured
        are left out: :func:`other_sizes` tells them.
    """
    measured = {i.id for job in (one, other) for i in job.inputs.items if _is_read(i)}
    sides = {one.words.left: "left", one.words.right: "right"}
    found: list[Otherwise] = []
    for table in dict.fromkeys((*values[0], *values[1])):
        if table in _NO_DECISIONS:
            continue
        a, b = (v.get(table, _ABSENT) for v in values)
        if table == "lines":
            a, b = (_wanted(_lines(v)) for v in values)
        elif table == "vehicles":
            a, b = _runs(a), _runs(b)
        for path, first, second in _differing((table,), a, b):
            if "/".join(sides.get(key, key) for key in path) not in measured:
                found.append(_otherwise(path, first, second))
    return tuple(found)


def _listed(words: Iterable[str]) -> str:
    return ", ".join(words) or "-"


def _of_reading(about: tuple[Any, tuple[str, ...]]) -> str:
    return f"{about[0].value} {', '.join(about[1])}"


def _named(what: str, one: dict[str, Any], other: dict[str, Any]) -> list[Otherwise]:
    found = []
    for name in dict.fromkeys((*one, *other)):
        if name not in other:
            found.append(Otherwise(what=f"{what} {name}", one="there", other="-"))
        elif name not in one:
            found.append(Otherwise(what=f"{what} {name}", one="-", other="there"))
        elif not same(one[name], other[name]):
            found.append(Otherwise(what=f"{what} {name}", one="as given", other="otherwise"))
    return found


def _inputs(one: Job, other: Job, say: Speech, *, of_the_bridge: bool) -> list[Otherwise]:
    """Compare base inputs that were read or measured, by id; repeated readings of one size each."""
    a, b = (
        {i.id: i for i in job.inputs.items if _is_read(i) and _of_the_bridge(i) is of_the_bridge}
        for job in (one, other)
    )
    found = []
    for key in dict.fromkeys((*a, *b)):
        first, second = a.get(key), b.get(key)
        if first and second and _close(first.value, second.value) and _close(first.sd, second.sd):
            continue
        label = (first or second or next(iter(a.values()))).label
        found.append(
            Otherwise(what=say.text(label), one=_said_input(first, say), other=_said_input(second, say))
        )
    return found


def _is_read(item: Input) -> bool:
    """Tell whether an input was read or measured; sizes of vehicles are compared with the vehicles."""
    if item.kind == "size":
        planned = NOT_MADE in item.label or NOT_BUILT in item.label
        return not planned and not item.id.startswith("vehicles/")
    return item.kind in ("reading", "shared")


def _of_the_bridge(item: Input) -> bool:
    return item.kind == "size" and item.id.startswith(_BRIDGE)


def _close(one: float, other: float) -> bool:
    """Tell whether two values are one, however it was written: ``1 in`` is ``25.4 mm``."""
    return isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)


def _said_input(item: Input | None, say: Speech) -> str:
    return "-" if item is None else say.reading(item.value, item.unit, item.sd)


def _vehicles(one: Job, other: Job) -> list[Otherwise]:
    """Compare the vehicles that both have; which runs where is a decision."""
    a, b = (
        {run.vehicle.id: run.vehicle for run in (job.clearance.runs if job.clearance else ())}
        for job in (one, other)
    )
    both = {name for name in a if name in b}
    return _named(
        "vehicle", {n: v for n, v in a.items() if n in both}, {n: v for n, v in b.items() if n in both}
    )


def _lines(values: Values) -> dict[str, Any]:
    lines = values.get("lines", {})
    return lines if isinstance(lines, dict) else {}


def _wanted(lines: dict[str, Any]) -> dict[str, Any]:
    return {name: {k: v for k, v in line.items() if k not in _LIES} for name, line in lines.items()}


def _runs(vehicles: Any) -> Any:
    if not isinstance(vehicles, list):
        return {}
    return {v.get("name", ""): _sorted_runs(v) for v in vehicles}


def _sorted_runs(vehicle: Values) -> Values:
    runs = vehicle.get("runs_on", [])
    return {"runs_on": sorted(runs) if isinstance(runs, list) else [runs]}


def _differing(path: tuple[str, ...], one: Any, other: Any) -> list[tuple[tuple[str, ...], Any, Any]]:
    """Walk two values side by side; lists of tables are matched by name or id, sizes stay whole."""
    if one is not _ABSENT and other is not _ABSENT and one == other:
        return []
    a, b = _by_name(one), _by_name(other)
    if a is not None and b is not None:
        return [
            row
            for key in dict.fromkeys((*a, *b))
            for row in _differing((*path, key), a.get(key, _ABSENT), b.get(key, _ABSENT))
        ]
    return [(path, one, other)]


def _otherwise(path: tuple[str, ...], one: Any, other: Any) -> Otherwise:
    return Otherwise(what=", ".join(path), one=_written(one), other=_written(other))


def _by_name(value: Any) -> dict[str, Any] | None:
    if isinstance(value, dict):
        return None if "is" in value else value
    if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
        return None
    found: dict[str, Any] = {}
    for n, entry in enumerate(value, start=1):
        name = next((str(entry[k]) for k in ("name", "id") if k in entry), f"{n}")
        found[f"{name} ({n})" if name in found else name] = entry
    return found


def _written(value: Any) -> str:
    """Return a value in the words of the file, short enough for a cell."""
    if value is _ABSENT:
        return "-"
    if isinstance(value, dict):
        inside = ", ".join(f"{k} {_written(v)}" for k, v in value.items() if k != "is")
        if "is" in value:
            return f"{_written(value['is'])}, {inside}" if inside else _written(value["is"])
        return inside if len(inside) <= 60 else "there"
    if isinstance(value, list):
        inside = ", ".join(_written(v) for v in value)
        return inside if len(inside) <= 60 else f"{len(value)} entries"
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value)
