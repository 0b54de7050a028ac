"""What is said of the next measurement: of a gap, and of any other number."""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.advice.outlook import Outlook
from spanwright.estimation.budget import Share

#: A plan of readings stops once the question is settled with this probability, or at so many readings. [1]
ENOUGH, MOST = 0.9, 4
#: Below this probability of a verdict, with every reading that can be taken now perfect, none will settle it.
HOPELESS = 0.05
#: A further reading must add so much probability to be worth its place in a plan. [1]
ADDS = 0.02
#: A reading that is taken several times must be better by this to be named before one taken once. [1]
EASIER = 0.05
#: A new reading must shrink the doubt to less than this part of it to be worth naming. [1]
WORTH = 0.97


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One reading of a plan of readings.

    Parameters
    ----------
    reading : str
        Id of what to read.
    text : str
        What to do, in plain words, without the tool.
    tool : str
        With what.
    sd : float
        How well it can be read. [any]
    unit : str
        Unit of what is read.
    later : str
        When, such as "when it is made"; empty for now.
    after : float
        Standard uncertainty of the number once this and the readings before it are taken. [any]
    outlook : Outlook or None
        What is foretold of the gap then; None of a number that gets no word.
    """

    reading: str
    text: str
    tool: str
    sd: float
    unit: str
    later: str
    after: float
    outlook: Outlook | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The next measurement for one gap.

    Parameters
    ----------
    gap : str
        The gap's id.
    text : str
        What to do where no reading is named.
    before : float
        Standard uncertainty of the gap now; of what is left beyond the margin, if anything is. [mm]
    steps : tuple of Step
        Readings that can be taken now, the next one first; one if it is enough, a short plan if not.
    beyond : Step or None
        Where nothing that can be read now settles it: what can be read later.
    hopeless : bool
        No reading that can be taken now will settle it: change the design.
    chance_of_all : float
        Probability that it is settled if every reading that can be taken now were perfect. [1]
    settled : float
        Probability that the next reading settles it. [1]
    """

    gap: str
    text: str
    before: float
    steps: tuple[Step, ...] = ()
    beyond: Step | None = None
    hopeless: bool = False
    chance_of_all: float = 0.0
    settled: float = 0.0

    @property
    def next(self) -> Step | None:
        """The reading to take next, if there is one that helps."""
        return self.steps[0] if self.steps else None

    @property
    def reading(self) -> str:
        """Id of the reading to take next; empty if none helps."""
        return self.steps[0].reading if self.steps else ""

    @property
    def after(self) -> float:
        """Standard uncertainty once the next reading is taken."""
        return self.steps[0].after if self.steps else self.before


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """Where the doubt of one number comes from, and what would make it smaller.

    Parameters
    ----------
    id : str
        The number.
    value : float
        Its value. [any]
    u : float
        Its standard uncertainty. [any]
    unit : str
        Of both.
    shares : tuple of Share
        What its doubt is made of, the largest first.
    shared : float
        Part of the variance that errors have which many readings share. [1]
    steps : tuple of Step
        Readings that can be taken now which shrink it most, one after the other.
    later : Step or None
        What would shrink it most of all that can be read only later, if that is more.
    """

    id: str
    value: float
    u: float
    unit: str
    shares: tuple[Share, ...]
    shared: float
    steps: tuple[Step, ...]
    later: Step | None
