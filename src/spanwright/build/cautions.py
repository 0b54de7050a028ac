"""What can hurt, and where it is known from: the list that stands at the head of the build book.

At each step the one line of its hazard is repeated. ``CAUTIONS`` of the parts list has the lines.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.parts.pieces import CAUTIONS, Hazard

COMMON = "common practice, no source"
_PLASTER = (
    "National Society for Education in Art and Design, A Guide to Safe Practice in Art and Design, 7.12"
    " Plaster of Paris; CLEAPSS, PS072 Using Plaster of Paris in Schools"
)
_PLASTICS = (
    "National Society for Education in Art and Design, Working in Plastics and Polystyrene (eye protection,"
    " dust mask, well ventilated); the rest common practice, no source"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One thing that can hurt.

    Parameters
    ----------
    hazard : Hazard
        What it is.
    line : str
        The line that stands at each step.
    more : str
        What else to know, for the list.
    source : str
        Where it is known from.
    """

    hazard: Hazard
    line: str
    more: str
    source: str


#: More on each hazard, and its source.
_MORE: dict[Hazard, tuple[str, str]] = {
    Hazard.BLADE: ("A sharp blade needs less force than a dull one. Several light cuts, not one.", COMMON),
    Hazard.SAW: ("Light pressure; thin stock and cast plaster break off at the end of the cut.", COMMON),
    Hazard.SAW_UNDER_LAYOUT: (
        "Know what is behind the board before the blade goes through: wires, joists, switch machines, the"
        " lower line. Look from below, mark them on the underside, hold the piece that will fall.",
        COMMON,
    ),
    Hazard.SOLVENT: (
        "Solvent shut into a hollow part keeps softening it: leave a vent. Close the bottle at once.",
        _PLASTICS,
    ),
    Hazard.SPRAY: ("Off the layout, nothing that burns or sparks near; let it dry in moving air.", COMMON),
    Hazard.DUST: (
        "Dust of resin, foam, plaster and old paint: wet sanding where the material allows.",
        _PLASTICS,
    ),
    Hazard.PLASTER: (
        "Skin can be damaged from about 45 °C if contact lasts. Its dust irritates: do not breathe it.",
        _PLASTER,
    ),
    Hazard.HOT_WIRE: (
        "Fumes of foam irritate: a small hand tool needs moving air, a large one its own draw-off.",
        COMMON,
    ),
    Hazard.SOLDERING: ("Nothing meltable under the joint; heat sinks beside it.", COMMON),
    Hazard.METAL_ON_RAILS: ("Rules, straightedges, bars, clamps and steel strongbacks all do it.", COMMON),
    Hazard.MOVING_TRAIN: ("A train that catches a part throws both: a hand or foam under the place.", COMMON),
}


def list_cautions(hazards: tuple[Hazard, ...] = tuple(Hazard)) -> tuple[Caution, ...]:
    """List cautions in a fixed order.

    Parameters
    ----------
    hazards : tuple of Hazard
        Which are wanted; each once, whatever their order.

    Returns
    -------
    tuple of Caution
        With their sources.
    """
    return tuple(
        Caution(hazard=h, line=CAUTIONS[h], more=_MORE[h][0], source=_MORE[h][1])
        for h in Hazard
        if h in hazards
    )
