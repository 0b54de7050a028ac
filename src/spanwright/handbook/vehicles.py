"""Generic vehicles by region and era: full-size sizes, each with where it comes from, reduced to a scale.

They serve until the builder's own are measured. Models are not exact reductions: they often ride higher
than scale. So a reduced body is raised by :data:`RIDES_HIGHER` (its lower parts stay where they were as
well), and its sizes get the doubts below. All of these are common practice, no source.
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
from spanwright.handbook.outlines import FiveNumbers, Outline
from spanwright.handbook.reducing import reduced

#: How much higher than scale a model is taken to ride. Common practice, no source. [mm]
RIDES_HIGHER = 0.3
#: How far a model's size may be from the reduced one (standard uncertainty). Common practice, no source. [mm]
DOUBTS: Mapping[str, float] = MappingProxyType({"width": 0.2, "height": 0.3, "length": 0.5, "trucks": 0.5})


@dataclass(frozen=True, slots=True, kw_only=True)
class FullSize:
    """A generic vehicle at full size, as it is written.

    Parameters
    ----------
    id : str
        Its name in the handbook.
    region : str
        Where such vehicles run.
    era : str
        When they came into use.
    gauge : str
        The profile that it is to lie in; empty if none is known.
    trucks : tuple of str
        Distances from truck centre to truck centre.
    truck_wheelbase : str
        Wheelbase of one truck; empty if it is not wanted.
    length : str
        Length of the body; empty where sections say it.
    five : Mapping of str to str
        The five numbers and their heights; empty where sections say it.
    sections : tuple
        From, to, and heights with full widths.
    status : str
        ``read``, ``secondary``, ``memory`` or ``common practice``.
    source : str
        Where its sizes come from.
    address : str
        Where that was read.
    note : str
        What to beware of.
    """

    id: str
    region: str
    era: str
    gauge: str = ""
    trucks: tuple[str, ...]
    truck_wheelbase: str = ""
    length: str = ""
    five: Mapping[str, str]
    sections: tuple[tuple[str, str, tuple[tuple[str, str], ...]], ...]
    status: str
    source: str
    address: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduced:
    """A generic vehicle at the size of a model, as scale has it: not raised yet.

    Parameters
    ----------
    trucks : tuple of float
        Distances from truck centre to truck centre. [mm]
    truck_wheelbase : float
        Wheelbase of one truck. [mm]
    length : float or None
        Length of the body; None where sections say it. [mm]
    five : FiveNumbers or None
        Its cross-section; None where sections say it.
    sections : tuple
        Rear end, front end, outline of each.
    """

    trucks: tuple[float, ...]
    truck_wheelbase: float
    length: float | None
    five: FiveNumbers | None
    sections: tuple[tuple[float, float, Outline], ...]


def _read(raw: dict[str, Any]) -> FullSize:
    sections = tuple(
        (s["from"], s["to"], tuple((h, w) for h, w in s["outline"])) for s in raw.pop("sections", ())
    )
    five = MappingProxyType(raw.pop("five", {}))
    return FullSize(**(raw | {"trucks": tuple(raw["trucks"]), "five": five, "sections": sections}))


@cache
def _all() -> Mapping[str, FullSize]:
    text = resources.files(__package__).joinpath("vehicles.toml").read_text(encoding="utf-8")
    entries = [_read(raw) for raw in tomllib.loads(text)["vehicle"]]
    return MappingProxyType({entry.id: entry for entry in entries})


def vehicle_names() -> tuple[str, ...]:
    """Return the names of all generic vehicles.

    Returns
    -------
    tuple of str
        In the order of the file: by region.
    """
    return tuple(_all())


def full_size(name: str) -> FullSize:
    """Return a generic vehicle.

    Parameters
    ----------
    name : str
        Its name in the handbook.

    Returns
    -------
    FullSize
        Its sizes and where they come from.

    Raises
    ------
    InputError
        If there is none of this name.
    """
    known = _all()
    if name not in known:
        raise InputError(
            "the handbook has no vehicle of this name",
            code="HB008",
            value=name,
            limit="one of: " + "; ".join(known),
        )
    return known[name]


def reduced_vehicle(entry: FullSize, ratio: Fraction) -> Reduced:
    """Return a generic vehicle at the size of a model.

    Parameters
    ----------
    entry : FullSize
        The vehicle.
    ratio : Fraction
        Full size over model size.

    Returns
    -------
    Reduced
        Every size divided by the ratio.
    """

    def size(written: str) -> float:
        return reduced(written, ratio)

    return Reduced(
        trucks=tuple(map(size, entry.trucks)),
        truck_wheelbase=size(entry.truck_wheelbase) if entry.truck_wheelbase else 0.0,
        length=size(entry.length) if entry.length else None,
        five=FiveNumbers(**{k: size(v) for k, v in entry.five.items()}) if entry.five else None,
        sections=tuple(
            (size(rear), size(front), tuple((size(h), size(w)) for h, w in outline))
            for rear, front, outline in entry.sections
        ),
    )
