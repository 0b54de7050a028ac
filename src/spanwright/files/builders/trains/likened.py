"""A vehicle that is like one of the handbook: its sizes reduced by the job's scale."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

from spanwright.files.builders.context import Context
from spanwright.files.schema.job import Vehicle
from spanwright.files.source import Keys
from spanwright.handbook.outlines import Outline, raised
from spanwright.handbook.vehicles import (
    RIDES_HIGHER,
    Reduced,
    full_size,
    reduced_vehicle,
    vehicle_names,
)

#: Keys by which the builder's own sizes take the place of the handbook's.
_OWN = ("length", "trucks", "five", "outline", "polygon", "shadow", "sections")


@dataclass(frozen=True, slots=True, kw_only=True)
class Likened:
    """What the handbook gives for a vehicle.

    Parameters
    ----------
    name : str
        The vehicle's name in the handbook.
    sizes : Reduced
        Its sizes at the job's scale.
    note : str
        What is to be said of them.
    """

    name: str
    sizes: Reduced
    note: str

    @property
    def raised_sections(self) -> tuple[tuple[float, float, Outline], ...]:
        """Rear end, front end and outline of each section, raised as models ride, in mm."""
        return tuple((a, b, raised(outline, RIDES_HIGHER)) for a, b, outline in self.sizes.sections)


def likened(ctx: Context, keys: Keys, table: Vehicle) -> Likened | None:
    """Return what the handbook gives for a vehicle that is like one of its own.

    Parameters
    ----------
    ctx : Context
        The loading.
    keys : tuple
        Where the vehicle stands.
    table : Vehicle
        Its table.

    Returns
    -------
    Likened or None
        None if it is not like any.

    Raises
    ------
    InputError
        If the handbook has no such vehicle.
    """
    if table.like is None:
        return None
    here = (*keys, "like")
    name = table.like
    if name not in vehicle_names():
        near = get_close_matches(name, vehicle_names(), n=5, cutoff=0.3) or vehicle_names()[:5]
        raise ctx.source.error(
            here,
            "the handbook has no vehicle of this name",
            code="JO090",
            value=name,
            limit=f"one of its {len(vehicle_names())} vehicles, such as {'; '.join(map(repr, near))}",
            hint="Or leave like out and give the sizes that you measured",
        )
    entry = full_size(name)
    own = [key for key in _OWN if getattr(table, key) is not None]
    but = f", but for what {' and '.join(own)} here say" if own else ""
    five = table.five.height if table.five else None
    rides = (
        ""
        if five is not None or {"outline", "polygon", "shadow", "sections"} & set(own)
        else f" Models often ride higher than scale: {RIDES_HIGHER:g} mm higher is allowed for (common"
        " practice, no source)."
    )
    note = (
        f"not all its sizes are measured: they are those of {name!r} in the handbook ({entry.source}),"
        f" brought to scale{but}.{rides} Measure the model and enter what you find"
    )
    return Likened(name=name, sizes=reduced_vehicle(entry, ctx.scale), note=note)
