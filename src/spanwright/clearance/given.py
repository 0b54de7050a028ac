"""What the clearance stage takes: which vehicle runs on which line, and the margins that are wanted."""

from __future__ import annotations

from dataclasses import dataclass, field

from spanwright.clearance.gauges.given import Gauge
from spanwright.clearance.vehicles import Vehicle
from spanwright.clearance.witness import SearchSettings
from spanwright.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """A vehicle and the line it runs on.

    Parameters
    ----------
    line : str
        Name of the line.
    vehicle : Vehicle
        The vehicle.
    """

    line: str
    vehicle: Vehicle


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClearanceInput:
    """What the stage is asked.

    Parameters
    ----------
    runs : tuple of Run
        Which vehicle runs on which line; none where only gauges are laid.
    margin_side : float
        Margin wanted to each side. [mm]
    margin_above : float
        Margin wanted upwards. [mm]
    k : float
        Coverage factor of the verdicts. [1]
    search : SearchSettings
        How exact and how far the search looks.
    freeing_limit : float
        Travels beyond this are not looked for. [mm]
    gauges : tuple of Gauge
        Published or own profiles to lay along the lines beside the vehicles; no verdict rests on them.
    """

    runs: tuple[Run, ...]
    margin_side: float
    margin_above: float
    k: float = 2.0
    search: SearchSettings = field(default_factory=lambda: SearchSettings(also_within=1.5))
    freeing_limit: float = 40.0
    gauges: tuple[Gauge, ...] = ()

    def __post_init__(self) -> None:
        if not (self.margin_side >= 0 and self.margin_above >= 0 and self.k > 0):
            raise InputError(
                "a margin is negative or the coverage factor not positive",
                code="CL012",
                where="clearance",
                value=(self.margin_side, self.margin_above, self.k),
                limit="0 or more; k more than 0",
                hint="Margins are what you want to see between train and structure",
            )
