"""Tools: how far each can be off, as the job says, or by a table of defaults.

A tool that the job lists is taken as it is listed, all of it; the table here serves the others. The
table is common practice without a source: overrule it with what your own tools have shown.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum

from spanwright.errors import InputError
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.survey import Tool as ToolTable
from spanwright.units import is_angle_text, parse_angle, parse_length, parse_share

#: A scale error beyond this share is a slip of the unit (common practice, no source). [1]
LARGEST_SCALE = 0.2
NO_SOURCE = "common practice, no source"


class Measure(Enum):
    """What a tool's doubt is a doubt of."""

    LENGTH = "lengths"
    ANGLE = "angles"
    SHARE = "sizes, by a share of them"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """One tool.

    Parameters
    ----------
    name : str
        Its name in the job.
    measure : Measure
        What it measures.
    sd : float
        Standard uncertainty of one reading. [mixed]
    scale : float
        Standard uncertainty of its scale, the same error in all its readings; 0 for none. [1]
    zero : float
        Standard uncertainty of its zero, the same error in all its readings; 0 for none. [mixed]
    note : str
        Where the numbers come from.
    """

    name: str
    measure: Measure
    sd: float
    scale: float = 0.0
    zero: float = 0.0
    note: str = ""


#: name: (sd, scale, what it is). Source of all: common practice, no source.
DEFAULTS: dict[str, tuple[str, str, str]] = {
    "tape": ("1 mm", "0.05 %", "steel tape, read to the millimetre"),
    "rule": ("0.5 mm", "", "steel rule, read by eye"),
    "caliper": ("0.05 mm", "", "caliper on a part in the hand"),
    "depth gauge": ("0.1 mm", "", "caliper depth rod on a layout"),
    "feeler": ("0.1 mm", "", "feeler or card under a straightedge"),
    "stepped block": ("0.2 mm", "", "block with measured steps, between two surfaces"),
    "straightedge": ("0.25 mm", "", "gap to a straightedge or string, read by rule"),
    "level": ("0.5 mm", "", "spirit or laser line level with a rule"),
    "water level": ("0.7 mm", "", "two tubes and a hose"),
    "digital level": ("0.1 deg", "", "digital angle box or level"),
    "bevel": ("0.3 deg", "", "sliding bevel and protractor"),
    "plumb": ("0.7 mm", "", "plumb line"),
    "square": ("0.5 mm", "", "try square and rule"),
    "to be cut": ("0.2 mm", "", "a part that is still to be made, by hand tools"),
    "to be built": ("0.5 mm", "", "something that is still to be built on the layout"),
    "nominal": ("8 %", "", "a thickness as sold: measured ones are 3 to 13 % off"),
    "unknown": ("20 %", "", "a size that nobody has measured, guessed"),
}
#: What stands where a tool is named, of a size that nobody has read.
UNREAD = ("to be cut", "to be built", "nominal", "unknown")
#: A guess wider than this says nothing: the size might as well be nought. [1]
WIDEST_GUESS = 0.5
_GUESS = re.compile(r"(?:unknown,?\s+)?about\s+(?P<share>\S.*%)", re.ASCII)


def _measured(value: Quantity, unit: str) -> tuple[Measure, float]:
    if isinstance(value, str) and value.rstrip().endswith(("%", "per cent")):
        return Measure.SHARE, float(parse_share(value))
    if is_angle_text(value):
        return Measure.ANGLE, parse_angle(value)
    return Measure.LENGTH, float(parse_length(value, unit))


def guessed(name: str) -> Tool | None:
    """Return the tool that stands for a guess.

    Parameters
    ----------
    name : str
        What stands where a tool is named, such as ``about 20 %`` or ``unknown, about 20 %``.

    Returns
    -------
    Tool or None
        With that share of the size as its standard uncertainty; None if it is no guess.

    Raises
    ------
    InputError
        If the share cannot be read, is 0, or is so wide that it says nothing.
    """
    found = _GUESS.fullmatch(name)
    if found is None:
        return None
    share = _positive(float(parse_share(found["share"])), name, "a doubt")
    if share > WIDEST_GUESS:
        raise InputError(
            "this guess is too wide to be reckoned with",
            code="JO010",
            value=name,
            limit=f"about {100 * WIDEST_GUESS:g} % at most",
            hint="Measure it, if only with a rule held beside it",
        )
    return Tool(name=name, measure=Measure.SHARE, sd=share, note="as the job says")


def _positive(value: float, written: Quantity, what: str) -> float:
    if value <= 0:
        raise InputError(f"{what} must be more than 0", code="JO010", value=written)
    return value


def doubt(written: Quantity, unit: str) -> tuple[Measure, float]:
    """Return a standard uncertainty and what it is one of.

    Parameters
    ----------
    written : str or number
        Such as ``0.7``, ``0.1 deg`` or ``8 %``.
    unit : str
        Unit of a bare number.

    Returns
    -------
    Measure
        Length, angle or share.
    float
        The standard uncertainty. [mixed]

    Raises
    ------
    InputError
        If it cannot be read or is not more than 0.
    """
    measure, sd = _measured(written, unit)
    return measure, _positive(sd, written, "a doubt")


def listed_tool(name: str, table: ToolTable, unit: str) -> Tool:
    """Return a tool as the job lists it.

    Parameters
    ----------
    name : str
        Its name.
    table : ToolTable
        What the job says of it.
    unit : str
        Unit of a bare number.

    Returns
    -------
    Tool
        The tool.

    Raises
    ------
    InputError
        If one of its doubts cannot be read, is negative, or is of another kind than the first.
    """
    measure, sd = doubt(table.sd, unit)
    scale = float(parse_share(table.scale)) if table.scale is not None else 0.0
    if scale > LARGEST_SCALE:
        raise InputError(
            "the scale error of this tool is too large to be meant",
            code="JO010",
            value=table.scale,
            limit=f"at most {100 * LARGEST_SCALE:g} %; a steel tape has about 0.05 %",
            hint="scale is the share by which all its readings may be too long or too short together",
        )
    zero = 0.0
    if table.zero is not None:
        zero_measure, zero = _measured(table.zero, unit)
        if zero != 0 and zero_measure is not measure:
            raise InputError(
                f"this tool measures {measure.value}, but its zero error is of another kind",
                code="JO011",
                value=table.zero,
            )
        if zero < 0:
            raise InputError("a doubt must not be negative", code="JO010", value=table.zero)
    note = table.note or "as the job says"
    return Tool(name=name, measure=measure, sd=sd, scale=scale, zero=zero, note=note)


def default_tools() -> dict[str, Tool]:
    """Return the table of defaults.

    Returns
    -------
    dict
        Tools by name; the note says that they have no source.
    """
    found = {}
    for name, (sd, scale, what) in DEFAULTS.items():
        measure, value = _measured(sd, "mm")
        share = float(parse_share(scale)) if scale else 0.0
        found[name] = Tool(name=name, measure=measure, sd=value, scale=share, note=f"{what} ({NO_SOURCE})")
    return found
