"""What may be kept of a former result: cut off by value, never by which object it is.

A stage's result is kept where what the stage was given has the same values, and every base input that it
names has the same value and doubt. Inputs that the stage does not name may have changed, come or gone: what
is kept knows nothing of them, and its derivatives move to the columns where its own inputs now stand.

Read :func:`carry_over` first.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, TypeVar

import numpy as np

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Input, Inputs

FloatArray = np.ndarray
IntArray = np.ndarray
T = TypeVar("T")


def same(a: Any, b: Any) -> bool:
    """Tell whether two results hold the same numbers, to the last bit.

    Parameters
    ----------
    a : object
        A result, or any part of one.
    b : object
        Another.

    Returns
    -------
    bool
        True if every field, array and number is equal.
    """
    if a is b:
        return True
    if type(a) is not type(b):
        return False
    if isinstance(a, np.ndarray):
        return np.array_equal(a, b, equal_nan=a.dtype.kind == "f")
    if isinstance(a, Derived):
        return same(a.value, b.value) and same(a.jac, b.jac)
    if is_dataclass(a):
        return all(same(getattr(a, f.name), getattr(b, f.name)) for f in fields(a))
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(same(a[k], b[k]) for k in a)
    if isinstance(a, tuple):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    return bool(a == b) or (isinstance(a, float) and bool(np.isnan(a) and np.isnan(b)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Carry:
    """From the base inputs of a former plan to those of a new one.

    Parameters
    ----------
    columns : ndarray, shape (n,)
        Column of each former input among the new ones; -1 if it is gone. [1]
    count : int
        How many inputs there are now.
    changed : frozenset of str
        Inputs that are new or gone, or whose value or doubt has changed.
    """

    columns: IntArray
    count: int
    changed: frozenset[str]

    @property
    def moves(self) -> bool:
        """Whether any column stands elsewhere than before."""
        return self.count != len(self.columns) or not np.array_equal(self.columns, np.arange(self.count))

    def keeps(self, given: Any, before: Any) -> bool:
        """Tell whether what a stage made of ``before`` holds for what it is given now.

        Parameters
        ----------
        given : object
            What the stage takes now.
        before : object
            What it took.

        Returns
        -------
        bool
            True if both have the same values and no base input that they name has changed.
        """
        return same(given, before) and not (self.changed and _names(given, self.changed))

    def knows(self, numbers: Derived, new: Inputs) -> bool:
        """Tell whether numbers of the new plan have a derivative to an input that has changed.

        Parameters
        ----------
        numbers : Derived
            The numbers.
        new : Inputs
            The new inputs.

        Returns
        -------
        bool
            True if a change could have moved them or their doubt.
        """
        columns = [new.column(key) for key in self.changed if key in new]
        columns = [c for c in columns if c < numbers.jac.shape[-1]]
        return bool(np.any(numbers.jac[..., columns] != 0.0))

    def array(self, jac: FloatArray) -> FloatArray:
        """Return derivatives with their columns where the inputs now stand.

        Parameters
        ----------
        jac : ndarray, shape (..., m)
            Derivatives to the first m former inputs; m may be more where a stage has added some. [any]

        Returns
        -------
        ndarray
            The same numbers; nought for what is new. [any]
        """
        m, own = jac.shape[-1], len(self.columns)
        if not m or not self.moves:
            return jac
        there = np.flatnonzero(self.columns[:m] >= 0)
        moved = np.zeros((*jac.shape[:-1], self.count + max(m - own, 0)))
        moved[..., self.columns[there]] = jac[..., there]
        moved[..., self.count :] = jac[..., own:]
        return moved

    def carried(self, result: T) -> T:
        """Return a former result with all its derivatives in the columns of the new inputs.

        Parameters
        ----------
        result : object
            Frozen data: dataclasses, tuples, derived numbers.

        Returns
        -------
        object
            The same object where no column moves.
        """
        return _carried(self, result) if self.moves else result


def _carried(carry: Carry, found: Any) -> Any:
    """Only what holds derived numbers is made anew; the rest stays the object that it was."""
    if isinstance(found, Derived):
        return Derived(found.value, carry.array(found.jac))
    if isinstance(found, tuple):
        new = tuple(_carried(carry, one) for one in found)
        return found if all(a is b for a, b in zip(new, found, strict=True)) else new
    if is_dataclass(found) and not isinstance(found, type | Input | Inputs):
        values = {f.name: getattr(found, f.name) for f in fields(found) if f.init}
        moved = {name: _carried(carry, value) for name, value in values.items()}
        moved = {name: value for name, value in moved.items() if value is not values[name]}
        return replace(found, **moved) if moved else found
    return found


def _names(given: Any, ids: frozenset[str]) -> bool:
    """Tell whether any word in what a stage takes is one of these ids of base inputs."""
    waiting = [given]
    while waiting:  # one after another: calls within calls take three times as long
        one = waiting.pop()
        if isinstance(one, str):
            if one in ids:
                return True
        elif isinstance(one, tuple | frozenset):
            waiting += one
        elif isinstance(one, dict):
            waiting += one.keys()
            waiting += one.values()
        elif not isinstance(one, float):
            waiting += [getattr(one, name) for name in getattr(one, "__dataclass_fields__", ())]
    return False


def carry_over(before: Inputs, now: Inputs) -> Carry:
    """Compare the base inputs of two jobs.

    Parameters
    ----------
    before : Inputs
        Of the former job.
    now : Inputs
        Of the new one.

    Returns
    -------
    Carry
        Which have changed, and where each former one now stands.
    """
    old = {item.id: item for item in before.items}
    changed = {item.id for item in before.items if item.id not in now}
    changed |= {item.id for item in now.items if item.id not in old or not _equal(item, old[item.id])}
    columns = np.array([now.column(i.id) if i.id in now else -1 for i in before.items], dtype=int)
    return Carry(columns=columns, count=len(now), changed=frozenset(changed))


def _equal(a: Input, b: Input) -> bool:
    return a is b or (a.value, a.sd, a.unit, a.kind) == (b.value, b.sd, b.unit, b.kind)
