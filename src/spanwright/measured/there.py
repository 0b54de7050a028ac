"""Is it there yet: what is cut, so that it can be read."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs


@dataclass(frozen=True, slots=True, kw_only=True)
class Shafts:
    """Which supports' shafts are there to be read.

    Parameters
    ----------
    cuts : tuple of (str, str)
        Id of the base input, how truly a shaft is cut, and its support.
    there : tuple of str
        Supports whose shafts are cut.
    """

    cuts: tuple[tuple[str, str], ...] = ()
    there: tuple[str, ...] = ()

    def leant_on(self, row: Derived, inputs: Inputs) -> tuple[str, ...]:
        """Return the supports on whose shafts a reading leans."""
        at = {item.id: k for k, item in enumerate(inputs.items)}
        jac = row.padded(len(inputs)).jac
        return tuple(name for cut, name in self.cuts if jac[at[cut]] != 0.0)
