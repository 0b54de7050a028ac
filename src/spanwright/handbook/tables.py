"""Published tables as data: each with one citation, and with what of it was not seen.

The numbers stand in ``scales.toml``, ``clearance.toml`` and ``limits.toml`` beside this file. Read
:class:`Citation` first: a table's ``status`` says how far it can be trusted. Clearance tables are
carried to be shown and compared; no verdict rests on them.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from spanwright.errors import InputError

FILES = ("scales.toml", "clearance.toml", "limits.toml")

#: Words for how a table came to be here, best first.
STATUSES = ("read", "secondary", "common practice")


@dataclass(frozen=True, slots=True, kw_only=True)
class Citation:
    """Where a table comes from.

    Parameters
    ----------
    source : str
        Body, sheet and title; "common practice, no source" where there is none.
    edition : str
        Edition read.
    locus : str
        Table or page.
    address : str
        Where it was read.
    status : str
        ``read``, ``secondary`` (quoted by someone else) or ``common practice``.
    figure_seen : bool
        False if the drawing that explains the letters was not seen.
    note : str
        What was not seen, and what to beware of.
    """

    source: str
    edition: str
    locus: str
    address: str
    status: str
    figure_seen: bool
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A published table.

    Parameters
    ----------
    id : str
        Short name, such as ``NEM 102``.
    title : str
        What it lists.
    unit : str
        Unit of its numbers.
    columns : tuple of str
        Names of the columns.
    values : mapping
        Rows by their key, read-only; a row is a tuple of numbers, or of rows.
    citation : Citation
        Where it comes from.
    """

    id: str
    title: str
    unit: str
    columns: tuple[str, ...]
    values: Mapping[str, Any]
    citation: Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleEntry:
    """A model scale with the gauge it runs on.

    Parameters
    ----------
    name : str
        Nominal size.
    ratio : Fraction
        Full size over model size.
    gauge : float
        Track gauge. [mm]
    table : str
        The table that it stands in.
    """

    name: str
    ratio: Fraction
    gauge: float
    table: str


def _frozen(value: Any) -> Any:
    return tuple(_frozen(v) for v in value) if isinstance(value, list) else value


@cache
def _all_tables() -> Mapping[str, Table]:
    found: dict[str, Table] = {}
    for file in FILES:
        text = resources.files(__package__).joinpath(file).read_text(encoding="utf-8")
        for key, raw in tomllib.loads(text).items():
            citation = Citation(**{name: raw[name] for name in Citation.__dataclass_fields__})
            found[key] = Table(
                id=key,
                title=raw["title"],
                unit=raw["unit"],
                columns=tuple(raw["columns"]),
                values=MappingProxyType({k: _frozen(v) for k, v in raw["values"].items()}),
                citation=citation,
            )
    return MappingProxyType(found)


def table_names() -> tuple[str, ...]:
    """Return the names of all tables.

    Returns
    -------
    tuple of str
        In the order of the files.
    """
    return tuple(_all_tables())


def table(name: str) -> Table:
    """Return one table.

    Parameters
    ----------
    name : str
        Such as ``NEM 102``.

    Returns
    -------
    Table
        Its numbers and its citation.

    Raises
    ------
    InputError
        If there is no table of this name.
    """
    tables = _all_tables()
    if name not in tables:
        raise InputError(
            "the handbook has no table of this name",
            code="HB001",
            value=name,
            limit="one of " + ", ".join(tables),
        )
    return tables[name]


def scales() -> tuple[ScaleEntry, ...]:
    """Return every scale with its gauge.

    Returns
    -------
    tuple of ScaleEntry
        In the order of the tables.

    Examples
    --------
    >>> [(s.ratio, s.gauge) for s in scales() if s.name == "N"]
    [(Fraction(160, 1), 9.0)]
    """
    found = []
    for name in ("NEM 010", "British OO", "British N", "Japanese N"):
        for size, (ratio, gauge) in table(name).values.items():
            found.append(ScaleEntry(name=size, ratio=Fraction(str(ratio)), gauge=float(gauge), table=name))
    for size, (per_foot, gauge, _) in table("NMRA HO").values.items():
        ratio = Fraction("304.8") / Fraction(str(per_foot))
        found.append(ScaleEntry(name=size, ratio=ratio, gauge=float(gauge), table="NMRA HO"))
    return tuple(found)


def scale(name: str) -> ScaleEntry:
    """Return a scale by its name.

    Parameters
    ----------
    name : str
        Such as ``H0``, ``HO``, ``OO`` or ``N (UK)``.

    Returns
    -------
    ScaleEntry
        The scale.

    Raises
    ------
    InputError
        If there is no scale of this name.
    """
    known = {entry.name: entry for entry in scales()}
    if name not in known:
        raise InputError(
            "the handbook has no scale of this name",
            code="HB002",
            value=name,
            limit="one of " + ", ".join(known),
            hint="Give the ratio and the gauge instead",
        )
    return known[name]


def greatest_cant(gauge: float) -> float | None:
    """Return the greatest cant that NEM 114 recommends.

    Parameters
    ----------
    gauge : float
        Track gauge. [mm]

    Returns
    -------
    float or None
        Greatest cant; None for a gauge that the table does not list. [mm]

    Examples
    --------
    >>> greatest_cant(9.0)
    0.6
    >>> greatest_cant(10.0) is None
    True
    """
    for listed, cant in table("NEM 114").values["rows"]:
        if abs(listed - gauge) < 1e-9:
            return float(cant)
    return None


def default_margins(ratio: float | Fraction) -> tuple[float, float]:
    """Return the room to ask for beside and above a vehicle, until the builder says otherwise.

    Parameters
    ----------
    ratio : float or Fraction
        Full size over model size, above nil. [1]

    Returns
    -------
    beside : float
        Margin sideways; common practice, no source. [mm]
    above : float
        Margin upwards; common practice, no source. [mm]

    Raises
    ------
    InputError
        If the ratio is not above nil.

    Examples
    --------
    >>> default_margins(160)
    (1.5, 2.0)
    """
    if not ratio > 0:
        raise InputError("a scale's ratio must be above nil", code="HB003", value=float(ratio))
    rows = [row for row in table("margins").values["rows"] if row[0] <= ratio]
    return float(rows[-1][1]), float(rows[-1][2])


def widening(size: str, radius: float, group: str) -> float | None:
    """Return the printed widening of the clearance gauge on a curve, for comparison only.

    Parameters
    ----------
    size : str
        Nominal size, such as ``H0``.
    radius : float
        A radius that the table lists. [mm]
    group : str
        Coach group ``A``, ``B`` or ``C``.

    Returns
    -------
    float or None
        Widening on each side; None where the table prints none. [mm]

    Raises
    ------
    InputError
        If there is no such size or group.
    """
    printed = table("NEM 103 widening")
    if size not in printed.values:
        raise InputError(
            "the widening table has no such size", code="HB004", value=size, limit=", ".join(printed.values)
        )
    if group not in printed.columns[1:]:
        raise InputError("the widening table has no such group", code="HB005", value=group, limit="A, B, C")
    column = printed.columns.index(group)
    for row in printed.values[size]:
        if row[0] == radius and len(row) > column:
            return float(row[column])
    return None
