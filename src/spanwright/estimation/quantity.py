"""A named number of the plan: what a table prints, what JSON carries, what a later reading may name."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.derived import Derived


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Quantity:
    """One number of the plan with its derivatives.

    Parameters
    ----------
    id : str
        Stable id, such as ``pier 1/seat/span A/left``.
    label : str
        In plain words.
    unit : str
        ``mm``, ``rad``, ``1`` or ``1/mm``.
    value : Derived
        A scalar.
    """

    id: str
    label: str
    unit: str
    value: Derived
