"""The base inputs: every independent number that the plan rests on, each with its doubt.

Every reading is an input; every error that several readings share is an input of its own; what may
move is an input without doubt. Correlation between results is then nothing but shared inputs.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from math import isfinite

import numpy as np

from spanwright.errors import InputError
from spanwright.estimation.condition import Learnt, spread_with
from spanwright.estimation.derived import Derived
from spanwright.estimation.spread import Spread

FloatArray = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One independent base input.

    Parameters
    ----------
    id : str
        Stable id, unique in the job.
    value : float
        Best value before any adjustment. [any]
    sd : float
        Standard uncertainty; 0 for a free choice such as a shift of a support. [any]
    unit : str
        ``mm``, ``rad`` or ``1``.
    label : str
        What it is, in the builder's words.
    kind : str
        ``reading``, ``shared``, ``size``, ``setting out``, ``cut``, ``may move`` or ``unseen``.
    remedy : str
        How this doubt could be made smaller ("caliper it", "read it again").
    """

    id: str
    value: float
    sd: float
    unit: str
    label: str
    kind: str
    remedy: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """All base inputs in a fixed order: the columns of every Jacobian.

    Parameters
    ----------
    items : tuple of Input
        The inputs; ids are unique.
    learnt : Learnt or None
        What later readings of the plan's own numbers have taught; values have moved by it already.
    """

    items: tuple[Input, ...]
    learnt: Learnt | None = None
    _column: dict[str, int] = field(init=False, repr=False, compare=False)
    _sds: FloatArray = field(init=False, repr=False, compare=False)
    _spread: Spread = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        column: dict[str, int] = {}
        for k, item in enumerate(self.items):
            if item.id in column:
                raise InputError(
                    "two inputs have the same id", code="IN001", where=item.id, hint="Give each its own id"
                )
            if not (isfinite(item.value) and isfinite(item.sd) and item.sd >= 0):
                raise InputError(
                    "a value or its doubt is not a finite number", code="IN002", where=item.id, value=item.sd
                )
            column[item.id] = k
        object.__setattr__(self, "_column", column)
        sds = np.array([item.sd for item in self.items], dtype=float)
        sds.setflags(write=False)
        object.__setattr__(self, "_sds", sds)
        object.__setattr__(self, "_spread", spread_with(sds, self.learnt))

    def __len__(self) -> int:
        return len(self.items)

    def __contains__(self, key: str) -> bool:
        return key in self._column

    def column(self, key: str) -> int:
        """Return the column of an input in every Jacobian.

        Parameters
        ----------
        key : str
            The input's id.

        Returns
        -------
        int
            Column number.

        Raises
        ------
        InputError
            If there is no such input.
        """
        try:
            return self._column[key]
        except KeyError:
            raise InputError("there is no input of this name", code="IN003", where=key) from None

    def __getitem__(self, key: str) -> Input:
        return self.items[self.column(key)]

    @property
    def values(self) -> FloatArray:
        """Values in order."""
        return np.array([item.value for item in self.items])

    @property
    def sds(self) -> FloatArray:
        """Standard uncertainties in order; not to be written to."""
        return self._sds

    @property
    def spread(self) -> Spread:
        """Their spread: the doubts, and what later readings have taught."""
        return self._spread

    def derived(self, key: str) -> Derived:
        """Return one input as a number that knows its derivatives.

        Parameters
        ----------
        key : str
            The input's id.

        Returns
        -------
        Derived
            A scalar whose only derivative is 1 to this input.
        """
        jac = np.zeros(len(self.items))
        jac[self.column(key)] = 1.0
        return Derived(np.float64(self[key].value), jac)

    def extended(self, items: tuple[Input, ...]) -> Inputs:
        """Return these inputs with more at the end; earlier columns keep their place.

        Parameters
        ----------
        items : tuple of Input
            The inputs to add.

        Returns
        -------
        Inputs
            The longer list.
        """
        first = len(self.items)
        return Inputs(items=self.items + _moved(items, self.learnt, first), learnt=self.learnt)

    def widened(self, ids: tuple[str, ...], sd: float) -> Inputs:
        """Return these inputs with some taken as hardly known.

        Parameters
        ----------
        ids : tuple of str
            Which.
        sd : float
            Their standard uncertainty then, if it was less. [any]

        Returns
        -------
        Inputs
            Same values.
        """
        chosen = {i for i in ids if i in self}
        items = (replace(i, sd=max(i.sd, sd)) if i.id in chosen else i for i in self.items)
        return Inputs(items=tuple(items), learnt=self.learnt) if chosen else self

    def knowing(self, learnt: Learnt | None) -> Inputs:
        """Return these inputs moved to where later readings put them.

        Parameters
        ----------
        learnt : Learnt or None
            What was learnt, of these inputs and of ones added later; None for nothing.

        Returns
        -------
        Inputs
            Same ids and doubts before.
        """
        return self if learnt is None else Inputs(items=_moved(self.items, learnt, 0), learnt=learnt)

    def with_values(self, values: FloatArray) -> Inputs:
        """Return the same inputs with other values (for simulation and for differences).

        Parameters
        ----------
        values : ndarray, shape (n,)
            New values in order. [any]

        Returns
        -------
        Inputs
            Same ids and doubts.
        """
        return Inputs(
            items=tuple(replace(item, value=float(v)) for item, v in zip(self.items, values, strict=True))
        )


def _moved(items: tuple[Input, ...], learnt: Learnt | None, first: int) -> tuple[Input, ...]:
    """Move inputs, the first of which stands in column ``first``, by what was learnt of them."""
    if learnt is None:
        return items
    moves = learnt.moves[first : first + len(items)]
    known = learnt.ids[first : first + len(items)]
    if known != tuple(item.id for item in items[: len(known)]):
        raise InputError(
            "what was learnt belongs to other inputs",
            code="IN005",
            where=items[0].id if items else "inputs",
            hint="Derive the plan anew from the job file",
        )
    moved = tuple(
        replace(item, value=item.value + float(by)) if by != 0.0 else item
        for item, by in zip(items, moves, strict=False)
    )
    return moved + items[len(known) :]


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A size known from one or more readings: their weighted mean.

    Parameters
    ----------
    ids : tuple of str
        Base inputs that each read this size; at least one.
    """

    ids: tuple[str, ...]

    def __post_init__(self) -> None:
        if not self.ids:
            raise InputError("a size needs a reading at least", code="IN004")


def size(inputs: Inputs, of: Size) -> Derived:
    """Return a size as the weighted mean of its readings, with derivatives.

    Parameters
    ----------
    inputs : Inputs
        The base inputs.
    of : Size
        Which readings.

    Returns
    -------
    Derived
        A scalar; readings without doubt outweigh all others.
    """
    if len(of.ids) == 1:
        return inputs.derived(of.ids[0])
    sds = np.array([inputs[key].sd for key in of.ids])
    exact = sds == 0.0
    weights = exact.astype(float) if exact.any() else 1.0 / sds**2
    weights = weights / weights.sum()
    total = inputs.derived(of.ids[0]) * weights[0]
    for key, weight in zip(of.ids[1:], weights[1:], strict=True):
        total = total + inputs.derived(key) * weight
    return total
