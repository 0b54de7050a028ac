"""Blank reading sheets in plain text: what to measure, where, with what, and room for the readings.

Two readings each; three where three pieces are asked for. Vehicles have room for their whole outline.
"""

from __future__ import annotations

from collections.abc import Iterable

from spanwright.estimation.inputs import Input
from spanwright.job import Job
from spanwright.survey.readings import Kind

WIDTH = 100
_COLUMNS = ("first", "second", "third")
#: Number of readings -> width of what is to be read, and of each column.
_WIDTHS = {2: (54, 19), 3: (46, 15)}
_HEIGHTS = 7  # of an outline that have room on a sheet
_BLANK = "__________"

_POWER_OFF = "CAUTION: metal across rails makes a short circuit. Track power off before you start."
_LADDER = "CAUTION: work over an edge with both feet on the floor; no weight on the layout."

#: Title, kinds, how to read, caution.
_SHEETS: tuple[tuple[str, tuple[Kind, ...], str, str], ...] = (
    ("DISTANCES", (Kind.DISTANCE, Kind.LEVEL_DISTANCE), "Tape straight and taut, mark to mark.", _POWER_OFF),
    ("ANGLES AND BEARINGS", (Kind.ANGLE, Kind.BEARING), "Clockwise, seen from above.", ""),
    ("OFFSETS FROM A STRING", (Kind.OFFSET,), "Square off the string, to the mark.", _POWER_OFF),
    ("ALONG A STRING", (Kind.ALONG,), "From the string's first mark to the foot of the point.", _POWER_OFF),
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
        (Kind.CROSS_LEVEL_FEELER,),
        "Level or block square across both rails, feeler under its low end. Note the reach of the block.",
        _POWER_OFF,
    ),
    (
        "CROSS LEVELS BY ANGLE",
        (Kind.CROSS_LEVEL_ANGLE,),
        "Digital level square across both rails; turn it end for end and read again.",
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
            rows = [(r.id, job.inputs[r.id].label) for r in found]
            if Kind.CROSS_LEVEL_FEELER in kinds:
                rows.insert(0, ("", "reach of the block, from the high rail to the feeler"))
            lines += _block(title, how, caution, rows)
    lines += _sizes(job)
    return "\n".join(lines) + "\n"


def _is_repeat(key: str, job: Job) -> bool:
    """Tell whether an id is the second or a later reading of the same thing."""
    first, _, number = key.rpartition("/")
    return number.isdigit() and first in job.inputs


def _sizes(job: Job) -> list[str]:
    lines: list[str] = []
    groups = (
        ("TRACK", "lines/", "Caliper, in three places.", _POWER_OFF, 3),
        ("LAYERS", "layers/", "Three pieces of each from the same sheet or packet.", "", 3),
        ("BRIDGE PARTS", ("bridge/", "spans/"), "Each real part by itself; write its number on it.", "", 2),
        ("SUPPORTS", "supports/", "As made; what is still to be made is measured when it is.", "", 2),
        ("PORTALS", "portals/", "From the rails out, and from the railhead up.", _POWER_OFF, 2),
        ("VEHICLES", "vehicles/", "Widest and highest places, also grab irons, steps and loads.", "", 2),
    )
    for title, start, how, caution, columns in groups:
        found = [
            i
            for i in job.inputs.items
            if i.id.startswith(start) and _is_measured(i) and not _is_repeat(i.id, job)
        ]
        if found:
            lines += _block(title, how, caution, [("", _size_label(i)) for i in found], columns=columns)
    return lines + _outlines(job)


_LATER = (
    (", as it is to be cut", ", when made"),
    (", as it is to be built", ", when it stands"),
    (", as it is to be set out", ", when it stands"),
)


def _is_measured(item: Input) -> bool:
    return item.kind == "size" or "/clear/" in item.id


def _size_label(item: Input) -> str:
    """Return what is to be measured; what is not there yet says when."""
    label = item.label.removeprefix("error of the ")
    for later, when in _LATER:
        label = label.replace(later, when)
    return label


def _outlines(job: Job) -> list[str]:
    """Return room for the play and the whole outline of each vehicle, a section at a time."""
    vehicles = {run.vehicle.id: run.vehicle for run in (job.clearance.runs if job.clearance else ())}
    if not vehicles:
        return []
    lines = [
        "",
        "-" * WIDTH,
        "OUTLINES OF VEHICLES",
        "Full width at each height above the railhead where it changes, from the bottom up.",
        "From and to: forward from midway between the trucks; one section if it is alike from end to end.",
        "Play: the most that it can move to one side, and lean, on its trucks.",
    ]
    for vehicle in vehicles.values():
        lines += ["", vehicle.name, f"{'':<8}play to each side {_BLANK}   rocking to each side {_BLANK} deg"]
        for body in vehicle.bodies:
            own = f"{body.name}, " if len(vehicle.bodies) > 1 else ""
            for number in range(1, len(body.prisms) + 1):
                lines += [
                    "",
                    *(f"{'':<8}{part}" for part in _wrapped(f"{own}section {number}", WIDTH - 8)),
                    f"{'':<8}from {_BLANK}   to {_BLANK}",
                    f"{'':<8}{'height':<8}" + f"{_BLANK:>12}" * _HEIGHTS,
                    f"{'':<8}{'width':<8}" + f"{_BLANK:>12}" * _HEIGHTS,
                ]
    return lines


def _block(
    title: str, how: str, caution: str, rows: Iterable[tuple[str, str]], *, columns: int = 2
) -> list[str]:
    lines = ["", "-" * WIDTH, title, how]
    if caution:
        lines.append(caution)
    what, room = _WIDTHS[columns]
    heads = "".join(f"{head:>{room}}" for head in _COLUMNS[:columns])
    lines += ["", f"{'id':<8}{'what, and with what':<{what}}{heads}"]
    for key, text in rows:
        parts = _wrapped(text, what - 2)
        lines.append(f"{key:<8}{parts[0]:<{what}}" + f"{_BLANK:>{room}}" * columns)
        lines += [f"{'':<10}{part}" for part in parts[1:]]
    return lines


def _wrapped(text: str, width: int) -> list[str]:
    parts = [""]
    for word in text.split():
        if parts[-1] and len(parts[-1]) + 1 + len(word) > width:
            parts.append("")
        parts[-1] = f"{parts[-1]} {word}".strip()
    return parts
