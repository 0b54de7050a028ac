"""From the first print to the open board, and the line read again before anything of the piers is cut."""

from __future__ import annotations

import math

from spanwright.build.step import Phase, Step
from spanwright.build.telling import Told, place, told, word
from spanwright.build.work import (
    CALIBRATION,
    CANT,
    CHECKED,
    HUNG,
    OPENING_TABLE,
    OPENING_TOP,
    OPENING_UNDERSIDE,
    STICKS,
    Work,
    card_sheets,
    stops,
    unsettled,
)
from spanwright.clearance.stage import Gap
from spanwright.estimation.inputs import size
from spanwright.findings import Verdict
from spanwright.parts.given import Subroadbed
from spanwright.parts.pieces import Hazard, How

SETTLE, CALIBRATE, REMEASURE, GAUGES = "settle", "calibrate", "read the line again", "make gauges"
BOARD_OPEN = "board/file"


def first_steps(work: Work) -> list[Step]:
    """List the steps before piers are cut.

    Parameters
    ----------
    work : Work
        The bridge.

    Returns
    -------
    list of Step
        Settle, calibrate, open the board if there is one, read again, make the gauges.
    """
    board = work.parts.subroadbed
    steps = [_settle(work), _calibrate()]
    if board:
        steps += _open(work, board)
    return [*steps, _again(work), _gauges(work)]


def _settle(work: Work) -> Step:
    lines = [told(f"Mend first: {text}") for text in stops(work)]
    gaps = unsettled(work)
    lines += [_unproven(gap) for gap in gaps]
    if gaps:
        lines.append(
            told("Take the next reading that is named for each, or move the part, and reckon again.")
        )
    if work.clearance is None:
        lines.append(
            told("No trains were reckoned: measure the tallest, widest and longest, and reckon the gaps.")
        )
    return Step(
        id=SETTLE,
        title=told("Settle what is not proven, before anything is cut"),
        phase=Phase.SETTLE,
        lines=(
            *lines,
            told("Caliper every part of the kit, number it, and enter what is still nominal."),
            told("Nothing is sawn, trimmed or glued until the verdicts read as you want them."),
        ),
        tools=("caliper", "steel tape", "the tool that each advice names"),
        pieces=tuple(p.id for p in work.pieces if p.how in (How.FROM_KIT, How.BUY)),
        minutes=60.0,
    )


def _unproven(gap: Gap) -> Told:
    """Say of one gap that it is not clear."""
    said = (word(gap.vehicle), place(gap.part), word(gap.verdict.value))
    value = float(gap.gap.value)
    if not math.isfinite(value):
        return told("{0} against {1}: {2}. No move within reach frees it.", *said)
    if gap.verdict is Verdict.FOUL:
        return told("{0} against {1}: {2}. The part must move by {3} at the least.", *said, -value)
    if gap.reason:
        return told("{0} against {1}: {2}, {4}. Gap {3}.", *said, gap.gap, word(gap.reason))
    return told("{0} against {1}: {2}. Gap {3}.", *said, gap.gap)


def _calibrate() -> Step:
    return Step(
        id=CALIBRATE,
        title=told("Print the calibration sheet and measure its bars"),
        phase=Phase.SETTLE,
        lines=(
            told("Print at 100 %, no fitting to the page. Measure both bars with a steel rule, not a tape."),
            told("Enter the two readings; print all patterns again from the same printer and paper."),
            told("Void every earlier print: the revision stamp must match."),
        ),
        tools=("printer", "steel rule"),
        sheets=(CALIBRATION,),
        needs=(SETTLE,),
        minutes=15.0,
    )


def _open(work: Work, board: Subroadbed) -> list[Step]:
    through = size(work.inputs, board.thickness)
    wires = [o.name for o in board.obstructions]
    known = f" Known ones: {', '.join(wires)}." if wires else ""
    return [
        Step(
            id="board/check",
            title=told("Check the cut pattern on the track by its three distances"),
            phase=Phase.OPEN,
            lines=(
                told(
                    "Lay the sheet on the track: rails through its slots, tie ends and marks on their lines."
                ),
                told("Measure its check bars and its three distances; each must lie within its limits."),
                told("One outside: do not saw. Look for a slip, measure the marks again, print anew."),
            ),
            tools=("steel rule", "steel tape", "masking tape"),
            sheets=(OPENING_TOP, OPENING_TABLE),
            needs=(CALIBRATE,),
            gives=(CHECKED,),
            measures=True,
            minutes=30.0,
            hazards=(Hazard.METAL_ON_RAILS,),
        ),
        Step(
            id="board/strongback",
            title=told("Clamp the strongback over the rails and hang the rails from it"),
            phase=Phase.OPEN,
            lines=(
                told("Read both railheads at each mark of the stretch before it is clamped."),
                told("Shim its feet on firm track beyond the opening; fit the hangers."),
                told(
                    "Read the same railheads again: none may have moved. Cut no rail joint over an abutment."
                ),
            ),
            tools=("clamps", "shims", "feelers", "straightedge"),
            pieces=("board/strongback", "board/hangers"),
            needs=("board/check",),
            gives=(HUNG,),
            minutes=60.0,
            hazards=(Hazard.METAL_ON_RAILS,),
        ),
        Step(
            id="board/pilots",
            title=told("Mark the saw line on top and drill the two pilot holes"),
            phase=Phase.OPEN,
            lines=(
                told("Prick the saw line through the pattern; check it with the ordinates from the rail."),
                told(
                    "Drill both pilots square through the board, {0} deep; block the bit from the rails.",
                    through,
                ),
            ),
            tools=("scriber", "drill with a square guide", "steel rule"),
            sheets=(OPENING_TOP, OPENING_TABLE),
            needs=("board/strongback",),
            minutes=40.0,
            hazards=(Hazard.SAW_UNDER_LAYOUT, Hazard.METAL_ON_RAILS),
        ),
        Step(
            id="board/underside",
            title=told("Mark the underside from the pilots"),
            phase=Phase.OPEN,
            lines=(
                told(
                    "Hold the mirrored sheet to the underside, print towards you, its crosses on the pilots."
                ),
                told("Mark the saw line and all that lies near it: wires, risers, feeders." + known),
                told("Move wires; what cannot be moved is sawn round by hand."),
            ),
            tools=("lamp", "pins for the pilots", "masking tape"),
            sheets=(OPENING_UNDERSIDE,),
            needs=("board/pilots",),
            minutes=40.0,
        ),
        Step(
            id="board/saw",
            title=told("Saw the opening"),
            phase=Phase.OPEN,
            lines=(
                told(
                    "Saw on the saw line, inside the finished line; blade upright, fine tooth, short strokes."
                ),
                told("Saw beside and under the rails, never through a hanger; hold the piece that falls."),
                told("Catch the dust before it reaches the lower line."),
            ),
            tools=("fine saw", "vacuum cleaner", "lamp"),
            pieces=("board/opening",),
            cuts=("board/opening",),
            waits_for=(CHECKED, HUNG),
            sheets=(OPENING_TOP, OPENING_UNDERSIDE),
            needs=("board/underside",),
            minutes=90.0,
            hazards=(Hazard.SAW_UNDER_LAYOUT, Hazard.DUST),
        ),
        Step(
            id=BOARD_OPEN,
            title=told("File the board back to the finished line"),
            phase=Phase.OPEN,
            lines=(told("File to the line on both faces; a square held to the top shows the lean."),),
            tools=("coarse file", "square", "vacuum cleaner"),
            pieces=("board/opening",),
            needs=("board/saw",),
            minutes=45.0,
            hazards=(Hazard.DUST, Hazard.METAL_ON_RAILS),
        ),
    ]


def _again(work: Work) -> Step:
    opened = bool(work.parts.subroadbed)
    first = "The board is open and the rails hang: they may stand otherwise than surveyed. "
    return Step(
        id=REMEASURE,
        title=told(
            "Read the line again after opening, before piers are cut"
            if opened
            else "Read the heights at the supports directly, before piers are cut"
        ),
        phase=Phase.OPEN if opened else Phase.SETTLE,
        lines=(
            told(
                (first if opened else "")
                + "At each support measure from the railhead straight down to the base, in one reading."
            ),
            told("Enter each reading and reckon again: cut sizes, sticks and patterns change with it."),
            told("Void the earlier sheets. Only the new ones are cut from."),
        ),
        tools=("stepped block", "caliper", "straightedge"),
        needs=(BOARD_OPEN,) if opened else (CALIBRATE,),
        gives=work.taken("opened/"),
        measures=True,
        minutes=10.0 * len(work.taken("opened/")),
        hazards=(Hazard.METAL_ON_RAILS,),
    )


def _gauges(work: Work) -> Step:
    held = tuple(p.id for p in work.pieces if p.how is How.HOLD and not p.id.startswith("jig/"))
    return Step(
        id=GAUGES,
        title=told("Make the sticks and cards"),
        phase=Phase.MAKE,
        lines=(
            told("Cut both sticks of each bearing by caliper, from stiff strip; write its name on both."),
            told(
                "Cut the half-profile cards along their line; try each on the lower rails: it must not rock."
            ),
        ),
        tools=("caliper", "knife", "steel rule"),
        pieces=held,
        cuts=tuple(p for p in held if p.startswith(("stick/", "card/"))),
        waits_for=work.taken("opened/"),
        sheets=(STICKS, *card_sheets(work), CANT),
        needs=(REMEASURE,),
        minutes=10.0 * len(held),
        hazards=(Hazard.BLADE, Hazard.METAL_ON_RAILS),
    )
