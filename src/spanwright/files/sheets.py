"""Blank reading sheets in plain text: what to measure, where, with what, and room for two readings each."""

from __future__ import annotations

from collections.abc import Iterable

from spanwright.estimation.inputs import Input
from spanwright.job import Job
from spanwright.survey.readings import Kind

WIDTH = 100
_WHAT = 52
_BLANK = "__________"

_POWER_OFF = "CAUTION: metal across rails makes a short circuit. Track power off before you start."
_LADDER = "CAUTION: work over an edge with both feet on the floor; no weight on the layout."

#: Title, kinds, how to read, caution.
_SHEETS: tuple[tuple[str, tuple[Kind, ...], str, str], ...] = (
    ("DISTANCES", (Kind.DISTANCE, Kind.LEVEL_DISTANCE), "Tape straight and taut, mark to mark.", _POWER_OFF),
    ("ANGLES AND BEARINGS", (Kind.ANGLE, Kind.BEARING), "Clockwise, seen from above.", ""),
    ("OFFSETS FROM A STRING", (Kind.OFFSET,), "Square off the string, to the mark.", _POWER_OFF),
    ("ALONG A STRING", (Kind.ALONG,), "From the string's first mark to the foot of the point.", ""),
    ("PLUMB LINES", (Kind.PLUMB_X, Kind.PLUMB_Y), "Let the bob come to rest.", _LADDER),
    (
        "PLUMB PAST AN EDGE",
        (Kind.PLUMB_PAST_EDGE,),
        "Edge to the rail above, line to the rail below.",
        _LADDER,
    ),
    (
        "VERSINES",
        (Kind.VERSINE,),
        "Straightedge or string against the same rail face at both ends.",
        _POWER_OFF,
    ),
    ("SLOPES", (Kind.LEVEL_ANGLE,), "Turn the level end for end and read again.", _POWER_OFF),
    (
        "HEIGHTS",
        (Kind.HEIGHT, Kind.STEPPED_BLOCK),
        "Say the surface: railhead, tie, roadbed, board.",
        _POWER_OFF,
    ),
    (
        "CROSS LEVELS",
        (Kind.CROSS_LEVEL_ANGLE, Kind.CROSS_LEVEL_FEELER),
        "Level square across both rails; turn it end for end and read again.",
        _POWER_OFF,
    ),
    ("COORDINATES", (Kind.COORDINATE_X, Kind.COORDINATE_Y, Kind.COORDINATE_Z), "From the datum.", ""),
)


def reading_sheets(job: Job) -> str:
    """Return blank sheets for all that the job reads.

    Parameters
    ----------
    job : Job
        The job; its values are left out.

    Returns
    -------
    str
        Plain text, at most 100 characters wide; one block a kind of reading, in the order of the file.
    """
    unit = job.words.unit
    lines = [
        f"READING SHEETS: {job.name}",
        f"Lengths in {unit} unless you write another unit beside them.",
        f"Sides: left is {job.words.left}, right is {job.words.right}, looking from {job.words.start}"
        f" to {job.words.finish}.",
        "Read each line once, then go round again for the second readings without looking at the first.",
        "",
        "Date ______________   Temperature ________   Read by ____________________",
    ]
    for title, kinds, how, caution in _SHEETS:
        found = [r for r in job.survey.readings if r.kind in kinds and not _is_repeat(r.id, job)]
        if found:
            lines += _block(title, how, caution, [(r.id, job.inputs[r.id].label) for r in found])
    lines += _sizes(job)
    return "\n".join(lines) + "\n"


def _is_repeat(key: str, job: Job) -> bool:
    """Tell whether an id is the second or a later reading of the same thing."""
    first, _, number = key.rpartition("/")
    return number.isdigit() and first in job.inputs


def _sizes(job: Job) -> list[str]:
    lines: list[str] = []
    groups = (
        ("TRACK", "lines/", "Caliper, in several places.", _POWER_OFF),
        ("LAYERS", "layers/", "Three pieces of each from the same sheet or packet.", ""),
        ("BRIDGE PARTS", ("bridge/", "spans/"), "Each real part by itself; write its number on it.", ""),
        ("SUPPORTS", "supports/", "As made; what is still to be made is measured when it is.", ""),
        ("VEHICLES", "vehicles/", "Widest and highest places, also grab irons, steps and loads.", ""),
    )
    for title, start, how, caution in groups:
        found = [
            i
            for i in job.inputs.items
            if i.id.startswith(start) and _is_measured(i) and not _is_repeat(i.id, job)
        ]
        if found:
            lines += _block(title, how, caution, [("", _size_label(i)) for i in found])
    return lines


def _is_measured(item: Input) -> bool:
    return item.kind == "size"


def _size_label(item: Input) -> str:
    return item.label.removeprefix("error of the ")


def _block(title: str, how: str, caution: str, rows: Iterable[tuple[str, str]]) -> list[str]:
    lines = ["", "-" * WIDTH, title, how]
    if caution:
        lines.append(caution)
    lines += ["", f"{'id':<8}{'what, and with what':<{_WHAT}}{'first':>18}{'second':>20}"]
    for key, what in rows:
        parts = _wrapped(what, _WHAT + 2)
        lines.append(f"{key:<8}{parts[0]:<{_WHAT + 4}}{_BLANK:>14}{_BLANK:>20}")
        lines += [f"{'':<10}{part}" for part in parts[1:]]
    return lines


def _wrapped(text: str, width: int) -> list[str]:
    parts = [""]
    for word in text.split():
        if parts[-1] and len(parts[-1]) + 1 + len(word) > width:
            parts.append("")
        parts[-1] = f"{parts[-1]} {word}".strip()
    return parts
