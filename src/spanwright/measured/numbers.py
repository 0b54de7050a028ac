"""Every number of a plan that can be read, by its id, and how a builder may write the id."""

from __future__ import annotations

import difflib
import re

import numpy as np

from spanwright.alignment.given import LineInput
from spanwright.alignment.stage import Alignments
from spanwright.build.as_built import AsBuilt
from spanwright.clearance.stage import ClearanceResult
from spanwright.drawings.speech import Words
from spanwright.errors import InputError
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.measured.gauged import gauged_heights
from spanwright.measured.given import Measured
from spanwright.structures.stage import Structures
from spanwright.survey.stage import AdjustedSurvey

#: What is read when a span stands on its packing: the outcome of the work, which teaches nothing of the plan.
OUTCOMES = ("seat", "girder top", "railhead")
#: A name must be as alike as this to be offered for another. [1]
_NEAR = 0.45
_FINISHED = (*OUTCOMES, "mid span", "opening left", "opening right")


def readable(
    survey: AdjustedSurvey,
    alignments: Alignments,
    structures: Structures | None,
    clearance: ClearanceResult | None = None,
    rows: tuple[AsBuilt, ...] = (),
) -> dict[str, Derived]:
    """List every number that a reading may name.

    Parameters
    ----------
    survey : AdjustedSurvey
        Places and heights of the marks.
    alignments : Alignments
        Crossings; base inputs.
    structures : Structures or None
        The bridge, if there is one.
    clearance : ClearanceResult or None
        The gaps, if trains were reckoned.
    rows : tuple of AsBuilt
        Rows of the as-built sheets; those of finished work are left out.

    Returns
    -------
    dict of str to Derived
        By id: base inputs, marks (``P1/height``), crossings, the bridge's numbers, heights gauged directly,
        gaps, as-built rows.

    Notes
    -----
    A bearing's ``shoe`` is the underside of its shoe where the rails want it, read with the unit standing;
    its ``cap top`` is the top of the cap under it. What is read on the finished packing (``seat``,
    ``girder top``, ``railhead`` of a bearing) is an outcome and not listed here.
    """
    inputs = alignments.inputs
    found = {item.id: inputs.derived(item.id) for item in inputs.items if item.kind != "unseen"}
    found |= _of_survey(survey, inputs)
    for crossing in alignments.crossings:
        found[f"{crossing.id}/separation"] = crossing.centre.separation
        for rail in crossing.rails:
            found[f"{crossing.id}/{rail.upper_rail} over {rail.lower_rail}"] = rail.separation
    if structures:
        found |= _of_bridge(structures) | gauged_heights(structures, alignments)
    for gap in clearance.gaps if clearance else ():
        if not gap.beyond_reach and np.isfinite(gap.gap.value):
            found[gap.id] = found[f"{gap.vehicle} on {gap.line}/{gap.part}"] = gap.gap
    for row in rows:
        short = row.id.removeprefix("as built/")
        if not is_finished(row) and short not in found:
            found[short] = row.planned
    n = len(inputs)
    return {key: value.padded(n) for key, value in found.items()}


def _of_survey(survey: AdjustedSurvey, inputs: Inputs) -> dict[str, Derived]:
    """List places and heights of the marks, and the errors of the tools as their readings show them."""
    words = {"x": "x", "y": "y", "z": "height", "c": "cant"}
    found = {}
    for name in survey.names:
        mark, _, axis = name.rpartition(".")
        if mark and axis in words:
            found[f"{mark}/{words[axis]}"] = survey.value(name)
        if name in inputs and inputs[name].kind == "shared":
            found[name] = survey.value(name)
    return found


def names_gap(written: str, lines: tuple[LineInput, ...]) -> bool:
    """Tell whether a reading is of a train's gap, which is known only once the trains are reckoned.

    Parameters
    ----------
    written : str
        The number as it was written.
    lines : tuple of LineInput
        The lines of the job.

    Returns
    -------
    bool
        True for ``clearance/...`` and for ``<vehicle> on <line>, <part>``.
    """
    said = plain(written)
    return said.startswith("clearance ") or any(f" on {plain(line.name)} " in said for line in lines)


def is_finished(row: AsBuilt) -> bool:
    """Tell whether a row of the as-built sheets reads finished work.

    Parameters
    ----------
    row : AsBuilt
        The row.

    Returns
    -------
    bool
        True for what is read when packing or the span is set, and at the edge of the opened board.
    """
    return row.id.rpartition("/")[2] in _FINISHED


def _of_bridge(structures: Structures) -> dict[str, Derived]:
    bearings = {b.id: b for b in structures.bearings}
    listed = {q.id: q.value for q in structures.quantities}
    found = {}
    for key, value in listed.items():
        bearing, _, what = key.rpartition("/")
        if bearing not in bearings or what not in OUTCOMES:
            found[key] = value
    for key, bearing_ in bearings.items():
        found[f"{key}/shoe"] = bearing_.seat
        if f"{key}/packing" in listed:
            found[f"{key}/cap top"] = bearing_.seat - listed[f"{key}/packing"]
        found[f"{key}/railhead wanted"] = bearing_.railhead
    return found


def plain(key: str, words: Words | None = None) -> str:
    """Bring an id to the one form in which ids are compared.

    Parameters
    ----------
    key : str
        An id, or as a builder writes it: any mix of blanks, commas and strokes.
    words : Words, optional
        The builder's words for the sides, which take the place of left and right.

    Returns
    -------
    str
        Lower case, one blank between words.
    """
    text = re.sub(r"[\s,/]+", " ", key).strip().lower()
    if words is not None:
        both = {"left": words.left.lower(), "right": words.right.lower()}
        text = " ".join(both.get(word, word) for word in text.split(" "))
    return text


def _same_words(one: str, other: str) -> bool:
    """Tell whether two ids hold the same words: ``aisle column`` is said for ``column aisle``."""
    return sorted(one.split(" ")) == sorted(other.split(" "))


def id_of(
    numbers: dict[str, Derived], written: str, words: Words, *, where: str, also: tuple[str, ...] = ()
) -> str:
    """Return the id of the number that a builder means.

    Parameters
    ----------
    numbers : dict of str to Derived
        All that can be read.
    written : str
        As it was written; a mark alone means its height.
    words : Words
        The builder's words for the sides.
    where : str
        The reading, for the error.
    also : tuple of str
        Further ids that may have been meant: rows of finished work.

    Returns
    -------
    str
        The id.

    Raises
    ------
    InputError
        If no number, or more than one, is called so.
    """
    wanted = plain(written)
    said = {key: plain(key, words) for key in numbers}
    meant = (
        [key for key, text in said.items() if text == wanted]
        or [key for key in numbers if plain(key) in (wanted, f"{wanted} height")]
        or [key for key, text in said.items() if _same_words(text, wanted)]
    )
    if len(meant) == 1:
        return meant[0]
    if meant:
        raise InputError(
            "more than one number of the plan is called so",
            code="ME002",
            where=where,
            value=written,
            limit=", ".join(sorted(meant)),
            hint="Write it as one of these",
        )
    marks = {plain(mark): mark for key in numbers if (mark := key.removesuffix("/height")) != key}
    one = " " not in wanted
    near = _near(
        wanted, marks if one else {plain(key, words): _said(key, words) for key in (*numbers, *also)}
    )
    raise InputError(
        "the plan has no number of this name that can be read",
        code="ME001",
        where=where,
        value=written,
        limit="; ".join(near) or "see spanwright build, as-built readings",
        hint="Write it as the as-built sheets do",
    )


def _near(wanted: str, names: dict[str, str]) -> list[str]:
    """Return the names nearest to a wanted one: the same letters, and the same words in any order."""
    own = set(wanted.split(" "))
    ordered = " ".join(sorted(own))

    def likeness(name: str) -> float:
        words = name.split(" ")
        like = max(_ratio(wanted, name), _ratio(ordered, " ".join(sorted(words))))
        return like + 0.5 * len(own.intersection(words)) / len(own)

    liked = sorted(
        ((likeness(name), name) for name in names),
        key=lambda one: (-one[0], one[1][:1] != wanted[:1], one[1]),
    )
    return [names[name] for like, name in liked[:3] if like >= _NEAR]


def _ratio(one: str, other: str) -> float:
    return difflib.SequenceMatcher(None, one, other).ratio()


def _said(key: str, words: Words) -> str:
    """Say an id with the builder's words for the sides."""
    both = {"left": words.left, "right": words.right}
    return "/".join(" ".join(both.get(word, word) for word in part.split(" ")) for part in key.split("/"))


def find(numbers: dict[str, Derived], written: str, words: Words, *, where: str) -> Derived:
    """Return the number that a builder means.

    Parameters
    ----------
    numbers : dict of str to Derived
        All that can be read.
    written : str
        As it was written.
    words : Words
        The builder's words for the sides.
    where : str
        The reading, for the error.

    Returns
    -------
    Derived
        The number.

    Raises
    ------
    InputError
        If no number, or more than one, is called so.
    """
    return numbers[id_of(numbers, written, words, where=where)]


def number_read(numbers: dict[str, Derived], reading: Measured, words: Words) -> Derived:
    """Return the number of the plan that was read.

    Parameters
    ----------
    numbers : dict of str to Derived
        All that can be read.
    reading : Measured
        The reading.
    words : Words
        The builder's words for the sides.

    Returns
    -------
    Derived
        The number, less the one that it is measured from.

    Raises
    ------
    InputError
        If one of them is not known.
    """
    number = find(numbers, reading.number, words, where=reading.id)
    if reading.above:
        number = number - find(numbers, reading.above, words, where=reading.id)
    return number


def shown(number: Derived, numbers: dict[str, Derived], reading: Measured) -> Derived:
    """Return what the tool would show of a number: its own errors are in all its readings.

    Parameters
    ----------
    number : Derived
        The number that was read.
    numbers : dict of str to Derived
        All that can be read, the tools' errors among them.
    reading : Measured
        The reading.

    Returns
    -------
    Derived
        The number, with the tool's zero and scale as they are known, to first order.
    """
    for key, factor in reading.tool_errors:
        number = number + numbers[key] * factor
    return number


def finished_row(rows: tuple[AsBuilt, ...], written: str, words: Words) -> AsBuilt | None:
    """Return the as-built row of finished work that a reading means.

    Parameters
    ----------
    rows : tuple of AsBuilt
        Rows of the as-built sheets.
    written : str
        The number as it was written: the row's id, or that of the number it speaks of.
    words : Words
        The builder's words for the sides.

    Returns
    -------
    AsBuilt or None
        None if it is another number.
    """
    wanted = plain(written)
    for row in rows:
        if is_finished(row):
            spoken = (row.number,) if row.id.rpartition("/")[2] in OUTCOMES else ()
            names = (row.id, row.id.removeprefix("as built/"), *spoken)
            if any(_same_words(wanted, plain(name, w)) for name in names for w in (None, words)):
                return row
    return None
