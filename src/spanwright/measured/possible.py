"""What no tool can have shown: a length below nothing, an angle of a length, the datum.

Such a reading is a slip of the pen. It is refused at once, before it is held against its doubt: no builder
can stand by it.
"""

from __future__ import annotations

from math import degrees, pi

from spanwright.build.as_built import AsBuilt
from spanwright.drawings.speech import Words
from spanwright.errors import InputError
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.measured.given import Measured
from spanwright.measured.numbers import id_of, number_read

#: How an id ends, or begins, if the number is a length between two faces: more than 0.
_LENGTHS = (
    *("/length", "/railhead over base", "/lower railhead over base", "/soffit over lower railhead"),
    *("/spacing", "/face", "/seat", "/girder top", "/railhead"),
)
_FROM_BASE = ("opened/", "gap/")
#: The same of room between two things: 0 where they touch.
_ROOM = ("/end gap left", "/end gap right", "/between shoes", "/opening left", "/opening right")
_ANGLES = ("/kink",)
#: What is wrong with one that is less, and what it should be.
_LENGTH = ("this is a length, more than 0", "more than 0")
_TOUCHES = ("room between two things is never less than 0", "0 where they touch, or more")
_KINDS = {"mm": ("a length", "lengths"), "rad": ("an angle", "angles")}
#: A reading that is off by this many times what was foretold, and by as much at the least, is a slip of the
#: point or the unit; heights and places may be near 0, and take a metre (common practice, no source).
_TIMES, _LONGER, _ELSEWHERE = 5.0, 100.0, 1000.0


def refuse_impossible(
    reading: Measured,
    numbers: dict[str, Derived],
    inputs: Inputs,
    words: Words,
    rows: tuple[AsBuilt, ...] = (),
) -> None:
    """Refuse a reading of a number of the plan that no tool can have shown.

    Parameters
    ----------
    reading : Measured
        The reading.
    numbers : dict of str to Derived
        All that can be read.
    inputs : Inputs
        The base inputs.
    words : Words
        The builder's words for the sides.
    rows : tuple of AsBuilt
        Rows of the as-built sheets, to be offered where a name is not known.

    Raises
    ------
    InputError
        If the number is not known, is held by the datum or is of another kind than the tool measures, or
        is a reading or decided itself, or the reading is below nothing or many times too long.
    """
    also = tuple(row.id.removeprefix("as built/") for row in rows)
    key = id_of(numbers, reading.number, words, where=reading.id, also=also)
    number = number_read(numbers, reading, words)
    if not number.jac.any():
        raise _held(reading, key, float(number.value), words)
    if key in inputs and inputs[key].kind == "reading":
        raise InputError(
            f"{key} is itself a reading of the survey",
            code="ME009",
            where=reading.id,
            value=_as_read(reading, words),
            hint="Correct it in [survey] if it was a slip; write a second reading there as one more row",
        )
    if number.sd(inputs.spread) == 0.0:
        raise InputError(
            "this is decided, not measured",
            code="ME012",
            where=reading.id,
            value=_as_read(reading, words),
            limit=f"{_said(float(number.value), words)}, as the job file says",
            hint="Change it in the job file",
        )
    unit = inputs[key].unit if key in inputs else "rad" if key.endswith(_ANGLES) else "mm"
    _of_one_kind(reading, unit)
    room = key.startswith("clearance/") or key.endswith(_ROOM) or _is_gap(key, numbers)
    length = key.endswith(_LENGTHS) or key.startswith(_FROM_BASE)
    length = length or (key in inputs and inputs[key].kind == "size")
    least = None if reading.above or not (room or length) else _TOUCHES if room else _LENGTH
    _within(reading, float(number.value), least, words)


def refuse_outcome(reading: Measured, row: AsBuilt, words: Words) -> None:
    """Refuse a reading of finished work that no tool can have shown.

    Parameters
    ----------
    reading : Measured
        The reading.
    row : AsBuilt
        The as-built row.
    words : Words
        The builder's words, for the unit of lengths.

    Raises
    ------
    InputError
        If it is an angle, below nothing, or many times too long.
    """
    _of_one_kind(reading, "mm")
    least = _TOUCHES if row.id.endswith(_ROOM) else _LENGTH if row.id.endswith(_LENGTHS) else None
    _within(reading, float(row.planned.value), least, words)


def _held(reading: Measured, key: str, value: float, words: Words) -> InputError:
    """Say that a number has no doubt that a reading could lessen."""
    if reading.above:
        what, hint = "this is read from itself", "Name under above what it was read from"
    else:
        mark, _, axis = key.rpartition("/")
        what = (
            f"{mark} is the datum: its {axis} is {_said(value, words)} by definition and cannot be measured"
        )
        hint = f'Measure other marks from it: their name, with above = "{mark}"'
    return InputError(what, code="ME008", where=reading.id, value=_said(reading.value, words), hint=hint)


def _of_one_kind(reading: Measured, unit: str) -> None:
    if unit != reading.unit:
        number = _KINDS.get(unit, ("a share", ""))[0]
        raise InputError(
            f"this is {number}, and the tool measures {_KINDS[reading.unit][1]}",
            code="ME006",
            where=reading.id,
            value=reading.tool,
            hint="Name the tool that it was read with, or the number that was read",
        )


def _is_gap(key: str, numbers: dict[str, Derived]) -> bool:
    """Tell whether an id is the other name of a gap, by its train."""
    gaps = (one.split("/", 3) for one in numbers if one.startswith("clearance/"))
    return any(key == f"{vehicle} on {line}/{part}" for _, line, vehicle, part in gaps)


def _within(reading: Measured, expected: float, least: tuple[str, str] | None, words: Words) -> None:
    """Refuse a length below what it can be or too far from the plan, and an angle beyond all angles."""
    value = reading.value
    if reading.unit != "mm":
        if abs(value) <= pi:
            return
        raise InputError(
            "no angle turns that far",
            code="ME007",
            where=reading.id,
            value=_as_read(reading, words),
            limit="180 deg either way",
            hint="Look for a slip of the point or the unit, and for what was read",
        )
    if least is not None and (value < 0.0 or (value == 0.0 and least is _LENGTH)):
        what, limit = least
    elif abs(value - expected) > max(_TIMES * abs(expected), _LONGER if least else _ELSEWHERE):
        what, limit = "this is too far from the plan to have been read", f"about {_said(expected, words)}"
    else:
        return
    raise InputError(
        what,
        code="ME007",
        where=reading.id,
        value=_said(value, words),
        limit=limit,
        hint="Look for a slip of the point or the unit, and for what was read",
    )


def _said(value: float, words: Words) -> str:
    return f"{value / 25.4:.6g} in" if words.unit == "inch" else f"{value:.6g} mm"


def _as_read(reading: Measured, words: Words) -> str:
    return _said(reading.value, words) if reading.unit == "mm" else f"{degrees(reading.value):.6g} deg"
