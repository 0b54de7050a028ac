"""Is it there yet: what is cut, and what stands where it was set out, so that it can be read."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.measured.given import Made, PartState
from spanwright.structures.given import StructuresInput, SupportKind
from spanwright.survey.readings import Kind, SurveyInput

#: What moves by this much of how truly a support is set out is read where it stands, not before. Heights
#: over a base move by some 3 % of it, faces, edges and the rails over a girder by nearly all. [1]
_LEANS = 0.1
_OPENED, _OVER_BASE = "opened/", ("/railhead over base", "/lower railhead over base")
#: Readings that carry a height; those in plan, distances included, hardly see that of a mark on the ground.
_CARRY = (Kind.HEIGHT, Kind.STEPPED_BLOCK, Kind.LEVEL_ANGLE, Kind.COORDINATE_Z)
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
    grounds : tuple of (str, tuple of str)
        Shafts and columns, and the readings of the height of the ground that each stands on, where no other
        height hangs on that ground.
    """

    making: tuple[tuple[str, Leans], ...] = ()
    made: frozenset[Leans] = frozenset()
    grounds: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def leant_on(self, row: Derived, inputs: Inputs) -> tuple[Leans, ...]:
        """Return what a reading leans on."""
        jac = row.padded(len(inputs)).jac
        found = [
            leans
            for key, leans in self.making
            if (abs(jac[inputs.column(key)]) >= _LEANS if leans.place else jac[inputs.column(key)] != 0.0)
        ]
        return tuple(dict.fromkeys(found))

    def ground_under(self, key: str) -> tuple[str, ...]:
        """Return the readings of the ground that a number is gauged from; empty if it is gauged from none."""
        shaft = key.removeprefix(_OPENED) if key.startswith(_OPENED) else key.rpartition("/")[0]
        over = key.startswith(_OPENED) or key.endswith(_OVER_BASE)
        return dict(self.grounds).get(shaft, ()) if over else ()


def what_is_there(
    structures: StructuresInput | None, made: tuple[Made, ...], survey: SurveyInput | None = None
) -> There:
    """Return which supports are there to be read.

    Parameters
    ----------
    structures : StructuresInput or None
        The bridge.
    made : tuple of Made
        How far its supports are.
    survey : SurveyInput or None
        Readings of the ground that they stand on.

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
    return There(
        making=tuple(making),
        made=frozenset(there),
        grounds=_grounds(structures, survey) if structures and survey else (),
    )


def _grounds(structures: StructuresInput, survey: SurveyInput) -> tuple[tuple[str, tuple[str, ...]], ...]:
    found = []
    for s in structures.supports:
        columns = s.kind is SupportKind.STRADDLE_BENT
        names = ("column left", "column right") if columns else ("shaft",)
        for k, name in enumerate(names):
            ground = _only_heights(s.bases[min(k, len(s.bases) - 1)], survey)
            found.append((f"{s.name}/{name}", ground))
    return tuple(found)


def _only_heights(mark: str, survey: SurveyInput) -> tuple[str, ...]:
    """Return the readings of a mark's height; none if another height is read from it, or it is the datum."""
    own = [
        r for r in survey.readings if mark in r.marks and r.kind in _CARRY and r.id not in survey.set_aside
    ]
    heights = [r.id for r in own if r.kind in (Kind.HEIGHT, Kind.STEPPED_BLOCK) and r.marks[0] == mark]
    return tuple(heights) if len(heights) == len(own) and mark != survey.datum.height else ()
