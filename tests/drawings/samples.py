"""Sheets to write and read back: shapes whose sizes are known without the program."""

import math

from spanwright.drawings.display import Circle, Role, Sheet, Text, box, path
from spanwright.drawings.frame import Stamp

STAMP = Stamp(job="Heron Cut", revision="7f3a", made_from="61 readings, 4 of them as built")

#: An outline that no rule of symmetry leaves as it is; all corners at odd places. [mm]
OUTLINE = ((3.137, 2.411), (121.613, 5.207), (133.003, 41.909), (67.777, 88.123), (9.091, 52.345))


def plate():
    """A card that fits one page: outline, hole, slot, fold, centre line, texts."""
    return Sheet(
        id="card/plate",
        title="Card of the plate",
        items=(
            path(OUTLINE, Role.CUT, closed=True),
            Circle(centre=(40.0, 30.0), radius=6.25, role=Role.CUT),
            path([(60.0, 20.0), (100.0, 31.5)], Role.FOLD),
            path([(0.0, 45.0), (130.0, 45.0)], Role.CENTRE),
            box((70.0, 50.0), (90.0, 60.0), Role.OUTLINE, fill=0.8),
            Text(at=(40.0, 40.0), text="hole 12.5 mm", anchor="middle"),
            Text(at=(20.0, 30.0), text="town", turn=math.pi / 2, bold=True),
        ),
        side_up="printed side up",
        twin="Card of the plate, mirrored",
        notes=("Cut with a sharp blade along a steel rule, away from the hand that holds it.",),
    )


def strip(length=520.0, width=330.0):
    """A pattern larger than a page: an arc's two edges, a diagonal, a long chain of dots, many texts."""
    turns = [k * 0.6 / 60 for k in range(61)]
    radius = length / (2 * math.sin(0.3))
    outer = [(radius * math.sin(a - 0.3), radius * math.cos(a - 0.3) - radius) for a in turns]
    items = [
        path(outer, Role.CUT),
        path([(x, y - 40.0) for x, y in outer], Role.CUT),
        box((-length / 2, -width), (length / 2, 20.0), Role.REFERENCE),
        path([(-length / 2, -width), (length / 2, 20.0)], Role.CENTRE),
        Circle(centre=(7.0, -120.0), radius=55.0, role=Role.OUTLINE),
        Circle(centre=(-90.0, -160.0), radius=3.0, role=Role.CUT, fill=0.9),
        path([(-200, -250), (180, -260), (40, -190), (-30, -300)], Role.OUTLINE, closed=True, fill=0.85),
    ]
    for k in range(24):
        at = (-length / 2 + 12.0 + k * (length - 60.0) / 23, -58.0)
        items.append(Text(at=at, text=f"{k * 25} mm", size=2.2))
    for k in range(5):
        words = "measure before you saw: tie end to cut line"
        items.append(Text(at=(-200 + 90.0 * k, -100.0 - 40.0 * k), text=words))
    items.append(Text(at=(0.0, 8.0), text="wall side", size=3.2, anchor="middle", bold=True))
    return Sheet(
        id="pattern/opening top",
        title="Pattern of the opening, top",
        items=tuple(items),
        side_up="top of the board up",
        twin="Pattern of the opening, underside",
        notes=("Saw dust: wear a mask.", "Clamp the board; keep both hands behind the blade."),
    )


def elevation(scale=1.0):
    """A drawing that is not to be cut from, 700 mm long at its own scale."""
    return Sheet(
        id="general/elevation",
        title="Elevation",
        items=(
            box((0.0, 0.0), (700.0, 90.0), Role.OUTLINE),
            path([(0.0, 45.0), (700.0, 45.0)], Role.CENTRE),
            *(Text(at=(35.0 * k, 50.0), text=f"bearing {k}", anchor="middle") for k in range(1, 20)),
        ),
        true=False,
        scale=scale,
    )
