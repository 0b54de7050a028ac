"""The parts stage: what is bought, cut, trimmed and made, and every thing to hold against the work.

Order to read: :func:`make_parts`, then ``pieces`` (the parts list), ``opening`` (the board), ``faces``,
``seats`` and ``jigs`` (patterns), ``sticks``, ``cards`` and ``cant`` (gauges).
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.alignment.given import LineInput
from spanwright.alignment.stage import Alignments
from spanwright.clearance.given import ClearanceInput
from spanwright.clearance.stage import ClearanceResult
from spanwright.findings import Finding
from spanwright.parts.cant import CantPlan, plan_cant
from spanwright.parts.cards import ProfileCards, profile_cards, track_feet
from spanwright.parts.faces import ShaftPattern, face_patterns
from spanwright.parts.given import PartsInput
from spanwright.parts.jigs import Jig, jig_sheets
from spanwright.parts.listing.piece import Piece
from spanwright.parts.opening import Opening, open_board
from spanwright.parts.pieces import list_pieces
from spanwright.parts.seats import SeatPlan, seat_plans
from spanwright.parts.sticks import Sticks, gauge_sticks
from spanwright.structures.given import StructuresInput
from spanwright.structures.stage import Structures
from spanwright.survey.stage import AdjustedSurvey


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """What the earlier stages were asked, as far as the parts need it.

    Parameters
    ----------
    lines : tuple of LineInput
        The lines of track.
    structures : StructuresInput
        The bridge.
    clearance : ClearanceInput or None
        Vehicles and margins; None without trains.
    parts : PartsInput
        The board to open, units, settings.
    """

    lines: tuple[LineInput, ...]
    structures: StructuresInput
    clearance: ClearanceInput | None
    parts: PartsInput

    def line(self, name: str) -> LineInput:
        """Return a line as it was given.

        Parameters
        ----------
        name : str
            Its name.

        Returns
        -------
        LineInput
            The line.
        """
        return next(line for line in self.lines if line.name == name)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parts:
    """All that the parts stage knows.

    Parameters
    ----------
    pieces : tuple of Piece
        The parts list.
    opening : Opening or None
        The board's opening; None if no board is cut.
    shafts : tuple of ShaftPattern
        Patterns of piers and abutments.
    seats : tuple of SeatPlan
        One a support.
    jigs : tuple of Jig
        One a unit of spans.
    sticks : Sticks
        A go and a no-go stick for each bearing.
    cards : ProfileCards or None
        Half-profile cards; None without trains.
    cant : CantPlan
        Cants and their cards.
    findings : tuple of Finding
        What the builder should know.
    """

    pieces: tuple[Piece, ...]
    opening: Opening | None
    shafts: tuple[ShaftPattern, ...]
    seats: tuple[SeatPlan, ...]
    jigs: tuple[Jig, ...]
    sticks: Sticks
    cards: ProfileCards | None
    cant: CantPlan
    findings: tuple[Finding, ...]


def make_parts(
    asked: Asked,
    survey: AdjustedSurvey,
    alignments: Alignments,
    structures: Structures,
    clearance: ClearanceResult | None = None,
) -> Parts:
    """Divide the bridge into pieces, and make patterns and gauges.

    Parameters
    ----------
    asked : Asked
        What was asked.
    survey : AdjustedSurvey
        The adjusted survey.
    alignments : Alignments
        The lines.
    structures : Structures
        The fitted bridge.
    clearance : ClearanceResult, optional
        Gaps with their doubt.

    Returns
    -------
    Parts
        Everything to make and to hold.
    """
    given, inputs = asked.structures, alignments.inputs
    upper, lower = given.upper, given.lower
    opening = None
    if asked.parts.subroadbed is not None:
        laid = next(found for found in alignments.lines if found.line.name == upper)
        opening = open_board(
            asked.parts.subroadbed,
            inputs,
            laid,
            structures,
            survey,
            line_input=asked.line(upper),
            bridge=given,
        )
    cards = None
    if asked.clearance is not None:
        cards = profile_cards(
            given,
            structures,
            alignments,
            asked.clearance,
            track=asked.line(lower),
            result=clearance,
        )
    sticks = gauge_sticks(given, asked.parts, inputs, structures)
    cant = plan_cant(
        given,
        structures,
        alignments,
        cards.cards if cards else (),
        feet={name: track_feet(asked.line(name), given, inputs) for name in (upper, lower)},
    )
    return Parts(
        pieces=list_pieces(given, asked.parts, inputs, structures),
        opening=opening,
        shafts=face_patterns(inputs, structures),
        seats=seat_plans(inputs, (alignments.line(upper), alignments.line(lower)), structures),
        jigs=jig_sheets(asked.parts.units, inputs, structures),
        sticks=sticks,
        cards=cards,
        cant=cant,
        findings=(
            *(opening.findings if opening else ()),
            *(cards.findings if cards else ()),
            *sticks.findings,
        ),
    )
