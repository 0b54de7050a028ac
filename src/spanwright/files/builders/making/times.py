"""How the work is planned: evenings, times of work and cures, what is done."""

from __future__ import annotations

from typing import Any

from spanwright.build.planning.given import BuildInput
from spanwright.build.step import Cure
from spanwright.files.builders.context import Context
from spanwright.files.schema.base import Quantity
from spanwright.files.schema.job import Build as BuildTable
from spanwright.files.schema.job import Job
from spanwright.files.source import Keys
from spanwright.units import parse_hours

MOST = 60.0 * 24.0  # hours: no work at one step and no cure takes longer than 60 days
DAY = 24.0  # hours


def build_times(ctx: Context, job: Job) -> BuildInput:
    """Return what the file says of the work.

    Parameters
    ----------
    ctx : Context
        The loading.
    job : Job
        The whole file.

    Returns
    -------
    BuildInput
        Times of common practice where the file does not say.

    Raises
    ------
    InputError
        If a time cannot be meant, a step stands twice, or the table stands without a bridge.
    """
    table = job.build
    if table is None:
        return BuildInput()
    if job.bridge is None:
        raise ctx.source.error(
            ("build",), "there is a [build], but no [bridge]", code="JO050", hint="Add the table [bridge]"
        )
    found: dict[str, Any] = {}
    if table.evening is not None:
        found["evening"] = _hours(ctx, ("build", "evening"), table.evening, most=DAY)
        if not found["evening"]:
            raise ctx.source.error(
                ("build", "evening"),
                "in an evening of no length nothing is done",
                code="JO096",
                value=table.evening,
                limit="more than 0 h",
            )
    if table.reading is not None:
        found["reading"] = _hours(ctx, ("build", "reading"), table.reading)
    cures = {cure: getattr(table.cures, cure.value.replace(" ", "_")) for cure in Cure}
    for n, key in enumerate(table.done):
        if key in table.done[:n]:
            raise ctx.source.error(
                ("build", "done", n), "this step stands here twice", code="JO064", value=key
            )
    return BuildInput(
        **found,
        hands_on=_table(ctx, "hands_on", table.hands_on),
        cures=tuple(
            (cure, _hours(ctx, ("build", "cures", cure.value.replace(" ", "_")), written))
            for cure, written in cures.items()
            if written is not None
        ),
        done=table.done,
        curing=_table(ctx, "curing", table.curing),
        places=_places(ctx, table),
    )


def _places(ctx: Context, table: BuildTable) -> tuple[tuple[str, str], ...]:
    """Return where each step is named: which steps there are is known only once the plan is derived."""
    named: list[tuple[str, Keys]] = [
        (f"done {key}", ("build", "done", n)) for n, key in enumerate(table.done)
    ]
    named += [(f"curing {key}", ("build", "curing", key)) for key in table.curing]
    named += [(f"hands_on {key}", ("build", "hands_on", key)) for key in table.hands_on]
    return tuple((name, ctx.source.place(keys)) for name, keys in named)


def _table(ctx: Context, name: str, written: dict[str, Quantity]) -> tuple[tuple[str, float], ...]:
    return tuple((key, _hours(ctx, ("build", name, key), time)) for key, time in written.items())


def _hours(ctx: Context, keys: Keys, written: Quantity, *, most: float = MOST) -> float:
    hours = float(ctx.placed(keys, lambda: parse_hours(written)))
    if hours > most:
        raise ctx.source.error(
            keys,
            "this time is too long to be meant",
            code="JO096",
            value=written,
            limit=f"at most {most:g} h",
            hint="Look for another unit",
        )
    return hours
