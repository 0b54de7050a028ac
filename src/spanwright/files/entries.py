"""Write what was measured or made into the text of a job file, from one line as a builder says it.

A reading is said as ``pier 2/shaft, length = 49.1 mm by caliper``; with ``above P1`` before the equals sign
it was measured from there, with ``certain`` at the end it was read twice and is stood by. A state is said as
``pier 2 built``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from spanwright.errors import InputError
from spanwright.files.edit import appended, with_value
from spanwright.measured.given import Made, PartState
from spanwright.measured.there import Leans

_READING = re.compile(
    r"\s*(?P<what>[^=]+?)(?:\s+above\s+(?P<above>[^=]+?))?\s*="
    r"\s*(?P<value>[^=]+?)(?:\s+by\s+(?P<by>[^=,]+?))?(?:\s*,?\s+(?P<certain>certain))?\s*",
    re.IGNORECASE,
)


def with_reading(text: str, said: str) -> str:
    """Return the text of a job file with one reading more.

    Parameters
    ----------
    text : str
        The file's text.
    said : str
        The reading in one line.

    Returns
    -------
    str
        The text with an entry of ``[[measured]]`` at the end.

    Raises
    ------
    InputError
        If the line does not say what was read, how much it was and with what.
    """
    found = _READING.fullmatch(said)
    if found is None or found["by"] is None:
        raise InputError(
            "this reading does not say what was read with what" if found else "this is not a reading",
            code="ME010",
            where="--measured",
            value=said,
            limit='such as "pier 2/shaft, length = 49.1 mm by caliper"',
            hint="Say what was read, = how much, by which tool; above P1 before the = if from a mark",
        )
    entry: dict[str, Any] = {"what": found["what"]}
    if found["above"]:
        entry["above"] = found["above"]
    entry |= {"is": found["value"], "by": found["by"].lower()}
    if found["certain"]:
        entry["certain"] = True
    return appended(text, "measured", entry)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """What a plan has decided of one support, to be held once it is made.

    Parameters
    ----------
    name : str
        The support.
    lengths : tuple of float
        Cut lengths of its shafts. [mm]
    station : float
        Where it is set out on the upper line. [mm]
    unit : str
        The job's unit, ``mm`` or ``inch``: what is written into the file is in it.
    """

    name: str
    lengths: tuple[float, ...]
    station: float
    unit: str = "mm"


def with_state(
    text: str,
    said: str,
    decided: tuple[Decided, ...],
    made: tuple[Made, ...],
    leaning: tuple[tuple[Leans, int], ...] = (),
) -> str:
    """Return the text of a job file with the state of a support in it.

    Parameters
    ----------
    text : str
        The file's text.
    said : str
        Name of the support and its state.
    decided : tuple of Decided
        What the plan has decided of each support.
    made : tuple of Made
        What the file says already.
    leaning : tuple of (Leans, int)
        What readings lean on, and their places in the file. Once a support is taken out or spoiled they are
        those of a former part; once it is no more than cut, so are those of where it stood.

    Returns
    -------
    str
        The text with an entry of ``[[made]]``, or with the state of one changed. What is made anew is held as
        it is decided now.

    Raises
    ------
    InputError
        If there is no such support or state.
    """
    words = " ".join(said.replace("/", " ").split())
    state = next((s for s in PartState if words.lower().endswith(f" {s.value}")), None)
    if state is None:
        raise InputError(
            "this does not say how far a support is",
            code="ME011",
            where="--made",
            value=said,
            limit=", ".join(s.value for s in PartState),
            hint='Name the support and its state, as in "pier 2 built"',
        )
    name = words[: -len(state.value)].strip()
    known = {d.name.lower(): d for d in decided}
    if name.lower() not in known:
        raise InputError(
            "there is no support of this name",
            code="ME011",
            where="--made",
            value=name,
            limit=", ".join(d.name for d in decided),
            hint="Name one of the job's supports",
        )
    one = known[name.lower()]
    stands = state in (PartState.DRY_FITTED, PartState.BUILT)
    for number, entry in enumerate(made):
        if entry.part == one.name:
            anew = state.stands and not entry.state.stands
            text = with_value(text, ("made", number, "state"), state.value)
            if anew:
                text = with_value(text, ("made", number, "cut_to"), _lengths(one))
            if (stands and entry.station is None) or (anew and entry.station is not None):
                text = with_value(text, ("made", number, "station"), _length(one.station, one.unit))
            former = [at for leans, at in leaning if leans.support == one.name and _gone(leans, state)]
            for place in dict.fromkeys(former):
                text = with_value(text, ("measured", place, "former"), value=True)
            return text
    new: dict[str, Any] = {
        "part": one.name,
        "state": state.value,
        "cut_to": _lengths(one),
    }
    if stands:
        new["station"] = _length(one.station, one.unit)
    return appended(text, "made", new)


def _gone(leans: Leans, state: PartState) -> bool:
    """Tell whether what a reading leans on is gone once the support is in this state."""
    return not state.stands or (leans.place and state is PartState.CUT)


def _lengths(one: Decided) -> str | list[str]:
    lengths = [_length(length, one.unit) for length in one.lengths]
    return lengths[0] if len(lengths) == 1 else lengths


def _length(value: float, unit: str) -> str:
    """Write a length in the job's unit, finer than it is cut."""
    if unit == "inch":
        return f"{round(value / 25.4, 4) + 0.0:g} in"
    return f"{round(value, 3) + 0.0:g} mm"
