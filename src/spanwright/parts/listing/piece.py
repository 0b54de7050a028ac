"""What a piece is: how it is come by, its sizes finished and cut, how it is put right, what can hurt.

Texts carry ``{left}``, ``{right}``, ``{start}`` and ``{finish}`` where the builder's own words go.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, Size
from spanwright.parts.safe_side import Correction, cut_size

#: How the label of a base input says that its part is not made yet, or that it does not stand yet.
NOT_MADE, NOT_BUILT = ", as it is to be cut", ", as it is to be built"


class How(Enum):
    """How a piece is come by."""

    BUY = "buy"
    FROM_KIT = "from the kit"
    CUT = "cut"
    TRIM = "trim"
    MAKE = "make"
    HOLD = "hold"


class Hazard(Enum):
    """What can hurt, as the key to a caution."""

    BLADE = "blade"
    SAW = "saw"
    SAW_UNDER_LAYOUT = "saw under a layout"
    SOLVENT = "solvent or glue"
    SPRAY = "spray"
    DUST = "dust"
    PLASTER = "plaster"
    HOT_WIRE = "hot wire"
    SOLDERING = "soldering"
    METAL_ON_RAILS = "metal across rails"
    MOVING_TRAIN = "moving train"


#: One line for each, to stand where the work is; ``build/cautions.py`` says where each comes from.
CAUTIONS = {
    Hazard.BLADE: "Clamp the work, cut away from your hand, change a dull blade.",
    Hazard.SAW: "Clamp the work, both hands behind the saw, wear eye protection.",
    Hazard.SAW_UNDER_LAYOUT: (
        "Power off, plug out, wires and joists found on both faces, trains off the line, eye protection on."
    ),
    Hazard.SOLVENT: "Fresh air, no flame, gloves; keep it off skin and eyes.",
    Hazard.SPRAY: "Spray outdoors or with a fan that draws off, no flame, wear a mask for vapour.",
    Hazard.DUST: "Wear a dust mask and eye protection; wipe dust up damp, do not blow it about.",
    Hazard.PLASTER: "Powder into water, never the reverse; never embed hands: it can reach 60 °C as it sets.",
    Hazard.HOT_WIRE: "Fresh air, never leave the wire on, let it cool before it is touched.",
    Hazard.SOLDERING: "Fresh air, eye protection, put the iron in its stand, wash hands after.",
    Hazard.METAL_ON_RAILS: "Track power off: metal laid across the rails shorts them and grows hot.",
    Hazard.MOVING_TRAIN: "Walking pace, one hand at the power switch, fingers out of the way.",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PieceSize:
    """One size of a piece.

    Parameters
    ----------
    name : str
        Such as ``length``.
    finished : Derived
        As it is wanted in the end, or as it was measured.
    cut : float or None
        As it is cut; None where it is not cut, or is cut to a gap that is measured first. [mm]
    correction : Correction
        How this size is put right.
    to_be_made : tuple of str
        Base inputs that stand for this size while it is not made: its doubt is that of making it.
    """

    name: str
    finished: Derived
    cut: float | None = None
    correction: Correction = Correction.NONE
    to_be_made: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """One line of the parts list: so many pieces that are alike.

    Parameters
    ----------
    id : str
        Stable id, such as ``pier 1/shaft``.
    name : str
        What it is.
    belongs : str
        The span or support that it belongs to; empty for what serves the whole bridge.
    how : How
        How it is come by.
    count : int
        How many are built in, or held.
    sizes : tuple of PieceSize
        Its sizes.
    correction : Correction
        How it is put right if it comes out a little off.
    corrected_at : str
        Where that is done.
    after : str
        What to do when it has been measured.
    hazards : tuple of Hazard
        What can hurt while it is made.
    spare : int
        How many more to make.
    most_packing : float or None
        Largest packing that still looks right; None where none is used. [mm]
    part : str
        The finished shape that it makes up, by its id; empty for what is not in the bridge.
    mark : str
        What to write on it, so that it is not mistaken for another or turned round.
    """

    id: str
    name: str
    belongs: str
    how: How
    count: int
    sizes: tuple[PieceSize, ...] = ()
    correction: Correction = Correction.NONE
    corrected_at: str = ""
    after: str = ""
    hazards: tuple[Hazard, ...] = ()
    spare: int = 0
    most_packing: float | None = None
    part: str = ""
    mark: str = ""

    @property
    def to_be_made(self) -> tuple[str, ...]:
        """Base inputs that stand for sizes which are not made yet."""
        return tuple(dict.fromkeys(key for s in self.sizes for key in s.to_be_made))

    @property
    def cautions(self) -> tuple[str, ...]:
        """One line for each thing that can hurt."""
        return tuple(CAUTIONS[h] for h in self.hazards)


def not_made(inputs: Inputs, of: Size | None) -> tuple[str, ...]:
    """Return the readings of a size that only stand for it until its part is made.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    of : Size or None
        The size.

    Returns
    -------
    tuple of str
        Their ids; empty for a size that was measured.
    """
    labels = {key: inputs[key].label for key in of.ids} if of else {}
    return tuple(key for key, label in labels.items() if NOT_MADE in label or NOT_BUILT in label)


def doubt_of_place(number: Derived, inputs: Inputs, made: tuple[str, ...] = ()) -> float:
    """Return the doubt of a size that a part must fit, without how truly the part itself is made.

    Parameters
    ----------
    number : Derived
        The size.
    inputs : Inputs
        The base inputs.
    made : tuple of str
        Base inputs that stand for the making of the part itself.

    Returns
    -------
    float
        Standard uncertainty. [mm]
    """
    jac = number.padded(len(inputs)).jac.copy()
    jac[..., [inputs.column(key) for key in made]] = 0.0
    return float(inputs.spread.doubt(jac))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizing:
    """What sizes are reckoned with.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    k : float
        Coverage factor of cut sizes. [1]
    """

    inputs: Inputs
    k: float

    def size(
        self, name: str, finished: Derived, correction: Correction = Correction.NONE, of: Size | None = None
    ) -> PieceSize:
        """Return a size that is cut as its correction asks.

        Parameters
        ----------
        name : str
            Such as ``length``.
        finished : Derived
            As it is wanted in the end.
        correction : Correction
            How it is put right.
        of : Size or None
            The readings behind it, if it is a size on its own.

        Returns
        -------
        PieceSize
            With its cut size.
        """
        made = not_made(self.inputs, of)
        wide = self.k * doubt_of_place(finished, self.inputs, made)
        cut = None
        if correction is not Correction.MADE_LAST:
            cut = cut_size(float(finished.value), wide, correction)
        return PieceSize(name=name, finished=finished, cut=cut, correction=correction, to_be_made=made)

    def measured(self, name: str, finished: Derived) -> PieceSize:
        """Return a size that is as it is: nothing is cut.

        Parameters
        ----------
        name : str
            Such as ``length``.
        finished : Derived
            As measured.

        Returns
        -------
        PieceSize
            Without a cut size.
        """
        return PieceSize(name=name, finished=finished)
