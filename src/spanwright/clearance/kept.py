"""What was searched for a former plan and still holds: no train needs to be searched against it again.

A search knows the line, the vehicle, the part and how it is to look, and nothing else; which witnesses are
then held rests on the doubts of the inputs that these three know. Where all of that has the same values,
what was held is what a search would find, to the last bit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from spanwright.alignment.line import Line
from spanwright.clearance.given import ClearanceInput, Run
from spanwright.clearance.searching import HeldGap, gap_id, parts_beside
from spanwright.estimation.inputs import Inputs
from spanwright.estimation.keeping import Carry, same
from spanwright.structures.shapes import Shape

IntArray = np.ndarray

#: Where columns have moved, sums over the inputs are added in another order.
_ROUNDING = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Former:
    """What a former plan's gaps were searched with; derivatives in the columns of the new inputs.

    Parameters
    ----------
    carry : Carry
        From its base inputs to the new ones.
    lines : dict of str to Line
        Its lines.
    shapes : tuple of Shape
        Its parts.
    settings : ClearanceInput
        Its vehicles and margins.
    held : dict of str to HeldGap
        The witnesses that it holds, all of them found by searching.
    triangles : dict of str to ndarray
        Triangles of each part, to which its witnesses point.
    at_once : bool
        Whether nothing is to be searched: the gaps at former witnesses are told, and stay *not proven
        (working)* where a search could find others.
    """

    carry: Carry
    lines: dict[str, Line]
    shapes: tuple[Shape, ...]
    settings: ClearanceInput
    held: dict[str, HeldGap]
    triangles: dict[str, IntArray]
    at_once: bool = False


def kept_shapes(before: Former, shapes: tuple[Shape, ...], inputs: Inputs) -> tuple[Shape, ...]:
    """Return parts that have not moved as the objects that they were: what is known of them is found again.

    Parameters
    ----------
    before : Former
        The former plan's.
    shapes : tuple of Shape
        The new parts.
    inputs : Inputs
        The new base inputs.

    Returns
    -------
    tuple of Shape
        The same values in the same order.
    """
    old = {shape.part: shape for shape in before.shapes}
    rounding = _ROUNDING if before.carry.moves else 0.0
    return tuple(_as_before(shape, old.get(shape.part), len(inputs), rounding) for shape in shapes)


def _as_before(shape: Shape, before: Shape | None, n: int, rounding: float) -> Shape:
    if before is None or not same(before.vertices, shape.vertices):
        return shape
    new, old = shape.controls.padded(n), before.controls.padded(n)
    if not (same(new.value, old.value) and np.all(np.abs(new.jac - old.jac) <= rounding)):
        return shape
    return before if same(replace(shape, controls=before.controls), before) else shape


def kept_gaps(
    before: Former,
    lines: dict[str, Line],
    shapes: tuple[Shape, ...],
    settings: ClearanceInput,
    inputs: Inputs,
) -> dict[str, HeldGap]:
    """Return what a search would find again, by gap.

    Parameters
    ----------
    before : Former
        The former plan's.
    lines : dict of str to Line
        The new lines.
    shapes : tuple of Shape
        The new parts, as :func:`kept_shapes` returns them.
    settings : ClearanceInput
        The new vehicles and margins.
    inputs : Inputs
        The new base inputs.

    Returns
    -------
    dict of str to HeldGap
        Witnesses of those pairs for which nothing has changed.
    """
    if _looks(before.settings) != _looks(settings):
        return {}
    stood = set(before.shapes)
    firm = {s for s in shapes if s in stood and not before.carry.knows(s.controls, inputs)}
    trains = {_train(run): run.vehicle for run in before.settings.runs}
    lying = {name for name, line in lines.items() if same(before.lines.get(name), line)}
    found: dict[str, HeldGap] = {}
    for run in settings.runs:
        if run.line in lying and before.carry.keeps(run.vehicle, trains.get(_train(run))):
            keys = [gap_id(run, shape) for shape in parts_beside(shapes, run.line) if shape in firm]
            found |= {key: before.held[key] for key in keys if key in before.held}
    return found


def former_witnesses(
    before: Former, shapes: tuple[Shape, ...], settings: ClearanceInput
) -> dict[str, HeldGap]:
    """Return all former witnesses that still mean a place on a vehicle and on a part, moved or not.

    Parameters
    ----------
    before : Former
        The former plan's.
    shapes : tuple of Shape
        The new parts.
    settings : ClearanceInput
        The new vehicles.

    Returns
    -------
    dict of str to HeldGap
        By gap; a vehicle that is not the same, or a part with other triangles, has none.
    """
    alike = {s for s in shapes if same(before.triangles.get(s.part), s.triangles)}
    trains = {_train(run): run.vehicle for run in before.settings.runs}
    runs = [run for run in settings.runs if same(run.vehicle, trains.get(_train(run)))]
    keys = [gap_id(run, s) for run in runs for s in parts_beside(shapes, run.line) if s in alike]
    return {key: before.held[key] for key in keys if key in before.held}


def kept_vehicles(settings: ClearanceInput, before: ClearanceInput) -> ClearanceInput:
    """Return vehicles that are as they were as the objects that they were.

    Parameters
    ----------
    settings : ClearanceInput
        The new vehicles.
    before : ClearanceInput
        The former ones.

    Returns
    -------
    ClearanceInput
        The same values.
    """
    old = {_train(run): run for run in before.runs}
    runs = [(run, old.get(_train(run))) for run in settings.runs]
    return replace(settings, runs=tuple(b if b is not None and same(run, b) else run for run, b in runs))


def _train(run: Run) -> tuple[str, str]:
    return run.line, run.vehicle.id


def _looks(settings: ClearanceInput) -> tuple[Any, ...]:
    """Return what a search is told besides the three."""
    return settings.search, settings.margin_side, settings.margin_above, settings.freeing_limit
