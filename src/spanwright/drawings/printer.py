"""The builder's printer: its paper, and how far off true its prints come out in x and y.

Nobody can trust a printer to print at true size: a driver shrinks the page to the paper, and rollers
feed a little long or short, so the error differs along and across. The calibration sheet has two bars.
What the builder measures on them comes back here, and later sheets are drawn larger or smaller by as
much.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwright.errors import InputError

#: Sizes of the papers, width and height. ISO 216 and ANSI/ASME Y14.1 (8.5 by 11 in). [mm]
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
#: Nothing is drawn nearer to the edge; what a printer cannot reach is less (common practice, no source). [mm]
MARGIN = 10.0
#: Lengths of the two bars as drawn; with a right angle between them the diagonal is 250. [mm]
BAR_ACROSS, BAR_DOWN = 150.0, 200.0
#: A print further off than this was made with a wrong setting, not by a printer's own error. [1]
MOST_OFF = 0.03


@dataclass(frozen=True, slots=True, kw_only=True)
class Printer:
    """What is known of the printer.

    Parameters
    ----------
    paper : str
        ``A4`` or ``Letter``.
    across : float
        Length of the level bar as measured on the calibration print, held upright. [mm]
    down : float
        Length of the upright bar as measured on it. [mm]

    Raises
    ------
    InputError
        If the paper is not known, or a bar is more than 3 % off.
    """

    paper: str = "A4"
    across: float = BAR_ACROSS
    down: float = BAR_DOWN

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise InputError(
                "no such paper",
                code="DR002",
                where="printer.paper",
                value=self.paper,
                limit=" or ".join(PAPERS),
            )
        for key, value, drawn in (("across", self.across, BAR_ACROSS), ("down", self.down, BAR_DOWN)):
            if not abs(value / drawn - 1.0) <= MOST_OFF + 1e-9:  # so that "not a number" is refused as well
                raise InputError(
                    "the bar of the calibration print is too far off",
                    code="DR001",
                    where=f"printer.{key}",
                    value=f"{value:g} mm",
                    limit=f"{drawn * (1 - MOST_OFF):g} to {drawn * (1 + MOST_OFF):g} mm",
                    hint="Print the calibration sheet at 100 %, not fitted to the page, and measure again",
                )

    @property
    def factors(self) -> tuple[float, float]:
        """Drawn length over wanted length, across and down an upright page."""
        return BAR_ACROSS / self.across, BAR_DOWN / self.down

    @property
    def uncorrected(self) -> Printer:
        """The same paper, as if nothing had been measured."""
        return Printer(paper=self.paper)


def page_size(printer: Printer, *, upright: bool) -> tuple[float, float]:
    """Return width and height of a page.

    Parameters
    ----------
    printer : Printer
        The printer.
    upright : bool
        False for a page that is turned, its long side level.

    Returns
    -------
    tuple of float
        Width, height. [mm]
    """
    wide, high = PAPERS[printer.paper]
    return (wide, high) if upright else (high, wide)


def page_factors(printer: Printer, *, upright: bool) -> tuple[float, float]:
    """Return by how much a true drawing is drawn larger in x and y of a page.

    A turned page goes through the printer like an upright one, so its x is the printer's *down*.

    Parameters
    ----------
    printer : Printer
        The printer.
    upright : bool
        False for a page that is turned.

    Returns
    -------
    tuple of float
        Factors in x and y. [1]
    """
    across, down = printer.factors
    return (across, down) if upright else (down, across)
