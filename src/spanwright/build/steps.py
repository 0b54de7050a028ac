"""The steps, in an order in which each finds what it needs.

Read :func:`plan_steps`; ``opening_steps``, ``making_steps`` and ``setting_steps`` say what is done.
"""

from __future__ import annotations

from spanwright.build.making_steps import making_steps
from spanwright.build.opening_steps import first_steps
from spanwright.build.order import in_order
from spanwright.build.setting_steps import setting_steps
from spanwright.build.step import Step
from spanwright.build.work import Work


def plan_steps(work: Work) -> tuple[Step, ...]:
    """List all steps in working order.

    Parameters
    ----------
    work : Work
        The bridge, its parts list and its readings.

    Returns
    -------
    tuple of Step
        From the first reading to the test train.

    Raises
    ------
    InputError
        If a step cannot be done (``BU001``).
    """
    return in_order((*first_steps(work), *making_steps(work), *setting_steps(work)))


def sheets_of(step: Step, known: tuple[str, ...]) -> tuple[str, ...]:
    """Return the drawings that a step uses, of those that exist.

    Parameters
    ----------
    step : Step
        The step.
    known : tuple of str
        Ids of all drawings.

    Returns
    -------
    tuple of str
        Those that the step names, or the beginning of whose id it names, in the order of ``known``.
    """
    return tuple(
        key for key in known if any(key == s or key.startswith((f"{s}/", f"{s} ")) for s in step.sheets)
    )
