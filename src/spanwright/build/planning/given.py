"""What the builder says of the work: length of an evening, times, what is done and what still cures.

All times that stand here where the builder says nothing are common practice, no source: the maker's words on
the tin and the builder's own pace come first.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from math import isfinite

from spanwright.build.step import Cure, Step
from spanwright.errors import InputError

EVENING = 2.0  # hours
READING = 5.0 / 60.0  # hours, one reading with its surface cleaned, read twice and entered
DOUBT = 0.25  # hours, the next reading for one gap that is not settled
CODE = "BU003"
UNKNOWN = "BU004"
GIVEN = "the job file"


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildInput:
    """What the planning of the work is asked.

    Parameters
    ----------
    evening : float
        Hours of one evening. [any]
    reading : float
        Hours for one as-built reading. [any]
    hands_on : tuple of tuple
        Step, or kind of step, and hours of work at each such step. [any]
    cures : tuple of tuple
        What cures, and hours that it takes. [any]
    done : tuple of str
        Steps and readings that are done, and cured.
    curing : tuple of tuple
        Steps whose work is done, and hours that they still cure. [any]
    read : tuple of str
        Ids of the as-built rows that are filled in.
    places : tuple of (str, str)
        Where in the job file each of these keys stands, by table and key, such as ``done cut/pier 1``.
    """

    evening: float = EVENING
    reading: float = READING
    hands_on: tuple[tuple[str, float], ...] = ()
    cures: tuple[tuple[Cure, float], ...] = ()
    done: tuple[str, ...] = ()
    curing: tuple[tuple[str, float], ...] = ()
    read: tuple[str, ...] = ()
    places: tuple[tuple[str, str], ...] = field(default=(), compare=False)

    def place(self, table: str, key: str) -> str:
        """Return where a key stands in the job file, for errors.

        Parameters
        ----------
        table : str
            Such as ``done``.
        key : str
            The step.

        Returns
        -------
        str
            File, line and key; the table alone where that is not known.
        """
        return dict(self.places).get(f"{table} {key}", f"[build] {table}")


def kind_of(key: str) -> str:
    """Return the kind of a step.

    Parameters
    ----------
    key : str
        Its id.

    Returns
    -------
    str
        What stands before the stroke, such as ``glue`` of ``glue/pier 1``; else the id itself.
    """
    return key.partition("/")[0]


def with_times(steps: tuple[Step, ...], asked: BuildInput) -> tuple[Step, ...]:
    """Give steps the builder's own times.

    Parameters
    ----------
    steps : tuple of Step
        With the times that are common practice.
    asked : BuildInput
        What the builder says.

    Returns
    -------
    tuple of Step
        The same steps; a time for one step goes before one for its kind.

    Raises
    ------
    InputError
        If a time cannot be meant, or is that of a step which is not there.
    """
    check_times(asked)
    known = [key for s in steps for key in (s.id, kind_of(s.id))]
    for key, _ in asked.hands_on:
        if key not in known:
            raise unknown(asked.place("hands_on", key), key, known)
    hours, cures = dict(asked.hands_on), dict(asked.cures)
    found = []
    for step in steps:
        own = hours.get(step.id, hours.get(kind_of(step.id)))
        waits = tuple(
            replace(w, hours=cures[w.cure], source=GIVEN) if w.cure in cures else w for w in step.waits
        )
        found.append(replace(step, minutes=step.minutes if own is None else 60.0 * own, waits=waits))
    return tuple(found)


def check_times(asked: BuildInput) -> None:
    """See that each time is one.

    Parameters
    ----------
    asked : BuildInput
        What the builder says.

    Raises
    ------
    InputError
        If one is negative or endless.
    """
    every = [("reading", asked.reading)]
    every += [(f"hands_on {key}", time) for key, time in asked.hands_on]
    every += [(f"cures {cure.value}", time) for cure, time in asked.cures]
    every += [(f"curing {key}", time) for key, time in asked.curing]
    for where, hours in every:
        if not (isfinite(hours) and hours >= 0.0):
            raise InputError(
                "this time cannot be meant",
                code=CODE,
                where=f"[build] {where}",
                value=hours,
                limit="a finite number of hours, 0 or more",
                hint="Write a time such as 30 min, 2 h or 1 day",
            )


def unknown(where: str, key: str, known: list[str]) -> InputError:
    """Return the error for an id that is none.

    Parameters
    ----------
    where : str
        Where it stands.
    key : str
        What was written.
    known : list of str
        Ids that are.

    Returns
    -------
    InputError
        To raise.
    """
    ids = list(dict.fromkeys(known))
    near = get_close_matches(key, ids, n=3, cutoff=0.6)
    alike = [k for k in ids if key in k or k in key] or [k for k in ids if kind_of(k) == kind_of(key)]
    return InputError(
        "there is no such step",
        code=UNKNOWN,
        where=where,
        value=key,
        limit=f"one of: {', '.join(alike or near or ids)}",
        hint=f"{f'Did you mean {near[0]!r}? ' if near else ''}spanwright build names each step's id",
    )
