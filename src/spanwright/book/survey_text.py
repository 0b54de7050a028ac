"""The survey as text: marks, readings that disagree, how well each reading fits the others."""

from __future__ import annotations

import numpy as np

from spanwright.book.blocks import Block, heading, numbers, paragraph, table, texts
from spanwright.drawings.speech import Speech
from spanwright.job import Plan
from spanwright.survey.readings import DatumKind, Mark
from spanwright.survey.stage import Suspicion


def survey_text(plan: Plan, say: Speech) -> list[Block]:
    """Return all that the survey stage found.

    Parameters
    ----------
    plan : Plan
        The plan, at least up to the survey.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    return [
        *answer(plan),
        *suspects_text(plan, say),
        *_marks(plan, say),
        *_residuals(plan, say),
        *_unchecked(plan),
        *_scale(plan),
    ]


def answer(plan: Plan) -> list[Block]:
    """Return the one line that says whether the readings agree.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    list of Block
        Blocks.
    """
    count = len(plan.survey.suspects)
    if not count:
        return ["The readings agree: none is suspect."]
    return [f"{count} suspect reading{'s' if count > 1 else ''}: read again before you trust what follows."]


def suspects_text(plan: Plan, say: Speech) -> list[Block]:
    """Return the suspect readings in plain words; nothing if there are none.

    Parameters
    ----------
    plan : Plan
        The plan.
    say : Speech
        How numbers and places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    if not plan.survey.suspects:
        return []
    lines = heading("Suspect readings")
    for suspicion in plan.survey.suspects:
        lines += _suspicion(plan, say, suspicion)
    lines += paragraph(
        "They are still in the reckoning. Read each again: if it was a slip, correct it in the job file;"
        " if it"
        " cannot be read again, write its id under set_aside in [survey].",
        indent=2,
    )
    return lines


def _suspicion(plan: Plan, say: Speech, suspicion: Suspicion) -> list[Block]:
    lines = []
    if len(suspicion.readings) > 1:
        lines += paragraph("One of these is wrong, and the others cannot tell which:", indent=2)
    for key, slip in zip(suspicion.readings, suspicion.slips, strict=True):
        item = plan.job.inputs[key]
        if item.kind == "shared":
            amount = say.reading(slip, item.unit)
            text = f"{key}: {say.text(item.label)}. It seems to be off by {amount}; check the tool."
        else:
            more = "more" if slip > 0 else "less"
            text = (
                f"{key}: {say.text(item.label)}. You read {say.reading(item.value, item.unit)};"
                f" the other readings say {say.reading(item.value - slip, item.unit)}."
                f" It seems {say.reading(abs(slip), item.unit)} {more} than it should be."
            )
        lines += paragraph(text, indent=2 if len(suspicion.readings) == 1 else 4, hanging=2)
    return lines


def _where(mark: Mark, say: Speech) -> str:
    if not mark.line:
        return "off the track"
    rail = mark.rail.value if mark.rail else ""
    if rail == "both":
        return f"{mark.line}, bar across both rails"
    face = f", {mark.face.value}" if mark.face else ""
    return f"{mark.line}, {say.side(rail)} rail{face}"


_DATUM = {
    DatumKind.MINIMAL: "x and y start at {at}, x runs towards {towards}, heights start at {height}.",
    DatumKind.FIXED: "The coordinates that the job holds fixed say where x, y and heights start.",
    DatumKind.FREE: "The net is free: it floats on the rough places of its marks.",
}


def _marks(plan: Plan, say: Speech) -> list[Block]:
    survey, datum = plan.survey, plan.job.survey.datum
    lines = heading(f"Marks ({say.unit})")
    lines += paragraph(
        _DATUM[datum.kind].format(at=datum.at, towards=datum.towards, height=datum.height), indent=2
    )
    lines += paragraph(
        "A mark on track is the point of the rail that was touched, at railhead level. Cant counts positive"
        f" with the {say.words.right} rail high.",
        indent=2,
    )
    rows = []
    for mark in survey.marks:
        cells = [
            say.of(survey.value(f"{mark.name}.{axis}")) if survey.has(f"{mark.name}.{axis}") else "-"
            for axis in ("x", "y", "z", "c")
        ]
        rows.append((mark.name, _where(mark, say), *cells))
    return [*lines, "", *table((*texts("mark", "where"), *numbers("x", "y", "height", "cant")), rows)]


def _residuals(plan: Plan, say: Speech) -> list[Block]:
    survey = plan.survey
    found = survey.adjustment
    lines = heading("How well each reading fits the others, the worst first")
    lines += paragraph(
        "off: what was read less what all readings together say. Checked: 0 % nothing else checks it, 100"
        " % the"
        " others know it without this one. Measure: how many times its expected scatter it is off;"
        f" {survey.limit:.1f} or more is suspect.",
        indent=2,
    )
    rows = []
    for k in np.argsort(-np.abs(found.standardised), kind="stable"):
        item = plan.job.inputs[survey.reading_ids[k]]
        checked = item.id not in survey.unchecked
        rows.append(
            (
                item.id,
                say.text(item.label),
                say.reading(item.value, item.unit),
                _signed(say.reading(float(found.residuals[k]), item.unit)),
                f"{100.0 * found.redundancy[k]:.0f} %",
                f"{abs(found.standardised[k]):.1f}" if checked else "-",
            )
        )
    columns = (*texts("id", "reading", most=52), *numbers("read", "off", "checked", "measure"))
    return [*lines, "", *table(columns, rows)]


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"


def _unchecked(plan: Plan) -> list[Block]:
    if not plan.survey.unchecked:
        return []
    lines = heading("Unchecked")
    return lines + paragraph(
        "Nothing else checks these readings, so a slip in one of them would not be seen: "
        + ", ".join(plan.survey.unchecked)
        + ". One more reading to the same mark checks it.",
        indent=2,
    )


def _scale(plan: Plan) -> list[Block]:
    found = plan.survey.adjustment
    lines = heading("Which doubts are used")
    if found.degrees_of_freedom < 1:
        return lines + paragraph(
            "The doubts that the job declares for its tools. There is no reading to spare, so nothing can"
            " be said"
            " about how well they fit.",
            indent=2,
        )
    worse = "further apart" if found.scale > 1.0 else "closer together"
    return lines + paragraph(
        "The doubts that the job declares for its tools. With"
        f" {found.degrees_of_freedom} readings to spare, the readings lie {found.scale:.2f} times as far"
        " from each"
        f" other as those doubts say ({worse}; 1.00 would be just as declared). This factor is shown, not"
        " used.",
        indent=2,
    )
