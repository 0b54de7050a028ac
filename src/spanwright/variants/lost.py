"""What a change of plan would cost in supports that are cut or stand already.

A plan holds what its own job file calls made. So a made support costs something only where the other file
does not tell of it, and the other plan would have it otherwise.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from spanwright.measured.given import Made, PartState
from spanwright.structures.stage import Structures
from spanwright.structures.supports import FittedSupport

_SHOWN = 0.05  # mm, half of the last figure to which cut sizes and places along a line are shown


class Fate(Enum):
    """What becomes of a made part."""

    LOST = "lost"
    CUT_AGAIN = "can be cut again"
    PACKED = "short, packing makes it up"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """One made shaft, or support, that the other plan would have otherwise.

    Parameters
    ----------
    part : str
        Id of the shaft; name of the support where that stands elsewhere or is not there.
    state : str
        What the job file says of the support.
    what : str
        ``length``, ``station``, or ``support`` where the other plan has none of this name.
    made : float
        As it is made. [mm]
    wanted : float or None
        As the other plan would have it; None where it has none. [mm]
    fate : Fate
        What becomes of it.
    """

    part: str
    state: str
    what: str
    made: float
    wanted: float | None
    fate: Fate


def lost_parts(
    made: tuple[tuple[Made, ...], tuple[Made, ...]],
    bridges: tuple[Structures, Structures],
    most_packing: tuple[float, float],
) -> tuple[Lost, ...]:
    """Return what is made by one of two plans and would be otherwise in the other.

    Parameters
    ----------
    made : tuple of tuple of Made
        Supports that the one job calls made, and the other.
    bridges : tuple of Structures
        The two bridges.
    most_packing : tuple of float
        Thickest packing that still looks right, in either job. [mm]

    Returns
    -------
    tuple of Lost
        Empty if nothing is lost.
    """
    standing = [{m.part: m for m in side if m.state.stands} for side in made]
    found: list[Lost] = []
    for k, own in enumerate(standing):
        mine = {s.given.name: s for s in bridges[k].supports}
        others = {s.given.name: s for s in bridges[1 - k].supports}
        for name, one in own.items():
            if name in mine and name not in standing[1 - k]:
                found += _lost(one, mine[name], others.get(name), most_packing[1 - k])
    return tuple(found)


def _lost(made: Made, support: FittedSupport, other: FittedSupport | None, most: float) -> list[Lost]:
    name, state = made.part, made.state.value
    built = made.state is PartState.BUILT
    if other is None:
        return [
            Lost(part=name, state=state, what="support", made=support.station, wanted=None, fate=Fate.LOST)
        ]
    found = []
    if (built or made.station is not None) and abs(support.station - other.station) >= _SHOWN:
        found.append(
            Lost(
                part=name,
                state=state,
                what="station",
                made=support.station,
                wanted=other.station,
                fate=Fate.LOST,
            )
        )
    wanted = {cut.id: cut.length for cut in other.cuts}
    room = most - max((float(seat.packing.value) for seat in other.seats), default=0.0)
    for cut in support.cuts:
        length = wanted.get(cut.id)
        if length is not None and abs(cut.length - length) < _SHOWN:
            continue
        fate = Fate.LOST
        if length is not None and length < cut.length and not built:
            fate = Fate.CUT_AGAIN
        elif length is not None and cut.length < length <= cut.length + room:
            fate = Fate.PACKED
        found.append(Lost(part=cut.id, state=state, what="length", made=cut.length, wanted=length, fate=fate))
    return found
