"""Is it there yet: what is cut, and what stands where it was set out, so that it can be read."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.measured.given import Made, PartState
from spanwright.structures.given import StructuresInput

#: What moves by this much of how truly a support is set out is read where it stands, not before. Heights
#: over a base move by some 3 % of it, faces, edges and the rails over a girder by nearly all. [1]
_LEANS = 0.1
_STANDS = (PartState.DRY_FITTED, PartState.BUILT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Leans:
    """What a reading leans on.

    Parameters
    ----------
    support : str
        The support.
    place : bool
        Whether on where it was set out; else on its shafts as they were cut.
    """

    support: str
    place: bool = False

    @property
    def state(self) -> PartState:
        """How far the support must be at the least."""
        return PartState.DRY_FITTED if self.place else PartState.CUT

    @property
    def lacks(self) -> str:
        """What is not said of it."""
        return "to stand where it was set out" if self.place else "to be cut"


@dataclass(frozen=True, slots=True, kw_only=True)
class There:
    """Which supports are there to be read.

    Parameters
    ----------
    making : tuple of (str, Leans)
        Base inputs, how truly a shaft is cut or a support set out, and what leans on them.
    made : tuple of Leans
        What is there.
    """

    making: tuple[tuple[str, Leans], ...] = ()
    made: frozenset[Leans] = frozenset()

    def leant_on(self, row: Derived, inputs: Inputs) -> tuple[Leans, ...]:
        """Return what a reading leans on."""
        jac = row.padded(len(inputs)).jac
        found = [
            leans
            for key, leans in self.making
            if (abs(jac[inputs.column(key)]) >= _LEANS if leans.place else jac[inputs.column(key)] != 0.0)
        ]
        return tuple(dict.fromkeys(found))


def what_is_there(structures: StructuresInput | None, made: tuple[Made, ...]) -> There:
    """Return which supports are there to be read.

    Parameters
    ----------
    structures : StructuresInput or None
        The bridge.
    made : tuple of Made
        How far its supports are.

    Returns
    -------
    There
        What is cut, and what stands.
    """
    making: list[tuple[str, Leans]] = []
    for s in structures.supports if structures else ():
        clear = [key for size in (s.clear_left, s.clear_right) if size for key in size.ids]
        making += [(key, Leans(support=s.name)) for key in s.cut]
        making += [
            (key, Leans(support=s.name, place=True)) for key in (s.set_out, s.set_out_across, *clear) if key
        ]
    there = [Leans(support=m.part) for m in made if m.state.stands]
    there += [Leans(support=m.part, place=True) for m in made if m.state in _STANDS]
    return There(making=tuple(making), made=frozenset(there))
