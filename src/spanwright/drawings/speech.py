"""How the job's numbers and places are said: the builder's words, the chosen unit, give or take.

Inside, sides are left and right of growing station and doubts are standard uncertainties. Here they
become the builder's own words and k times the doubt.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from spanwright.estimation.budget import budget
from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs
from spanwright.units import format_inch_fraction, format_mm

INCH = 25.4
#: A give or take smaller than this is said as none: the number is held or exact. [mm]
NOTHING = 0.0005
#: Sixty-fourths are the finest marks of an inch rule.
FINEST = 64
#: A length within a text of a finding or an advice.
_LENGTH = re.compile(r"-?\d+(?:\.(\d+))? mm\b")
#: What labels of base inputs add, and how it is said in a sentence.
_SAID = (
    (" (the bound of NEM 114, 2007, a fifteenth of the gauge, taken as doubt)", ""),
    (" (common practice, no source)", ""),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """The builder's own names for sides and ends, and how lengths are shown.

    Parameters
    ----------
    left : str
        Name of the left side of growing station.
    right : str
        Name of the right side.
    start : str
        Name of the end where stations start.
    finish : str
        Name of the other end.
    unit : str
        ``mm`` or ``inch``: how lengths are shown.
    """

    left: str
    right: str
    start: str
    finish: str
    unit: str = "mm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Speech:
    """What is needed to say a number of a plan.

    Parameters
    ----------
    words : Words
        The builder's words and unit.
    inputs : Inputs
        The base inputs, for doubts and for what they come from.
    k : float
        Coverage factor: give or take is k times the standard uncertainty. [1]
    """

    words: Words
    inputs: Inputs
    k: float

    @property
    def unit(self) -> str:
        """How lengths are shown: mm or in."""
        return "in" if self.words.unit == "inch" else "mm"

    def side(self, word: str) -> str:
        """Return the builder's word for left or right; other words stay.

        Parameters
        ----------
        word : str
            Such as ``left``.

        Returns
        -------
        str
            Such as ``aisle``.
        """
        return {"left": self.words.left, "right": self.words.right}.get(word, word)

    def doubt(self, number: Derived) -> float:
        """Return the standard uncertainty of one number.

        Parameters
        ----------
        number : Derived
            A scalar.

        Returns
        -------
        float
            In the number's own unit. [any]
        """
        return float(number.sd(self.inputs.spread))

    def length(self, value: float, u: float = 0.0) -> str:
        """Say a length and its give or take, without the unit.

        Parameters
        ----------
        value : float
            The length. [mm]
        u : float
            Its standard uncertainty. [mm]

        Returns
        -------
        str
            Such as ``43.12 ± 0.31``.
        """
        per = INCH if self.unit == "in" else 1.0
        wide = self.k * u
        return format_mm(value / per, wide / per if wide > NOTHING else 0.0).removesuffix(" mm")

    def spread(self, u: float) -> str:
        """Say a give or take alone, two figures, without the unit.

        Parameters
        ----------
        u : float
            Standard uncertainty. [mm]

        Returns
        -------
        str
            Such as ``0.31``.
        """
        return self.length(0.0, u).rpartition(" ")[2]

    def of(self, number: Derived) -> str:
        """Say a derived length, without the unit.

        Parameters
        ----------
        number : Derived
            A scalar in mm.

        Returns
        -------
        str
            Such as ``43.12 ± 0.31``.
        """
        return self.length(float(number.value), self.doubt(number))

    def with_unit(self, number: Derived) -> str:
        """Say a derived length with its unit.

        Parameters
        ----------
        number : Derived
            A scalar in mm.

        Returns
        -------
        str
            Such as ``43.12 ± 0.31 mm``.
        """
        return f"{self.of(number)} {self.unit}"

    def plain(self, value: float, decimals: int = 1) -> str:
        """Say a length that has no doubt of its own, with its unit.

        Parameters
        ----------
        value : float
            The length. [mm]
        decimals : int
            Figures after the point in mm; in inches two more, three at most.

        Returns
        -------
        str
            Such as ``1.5 mm``.
        """
        if self.unit == "in":
            decimals = min(decimals + 2, 3)
            return f"{round(value / INCH, decimals) + 0.0:.{decimals}f} in"
        return f"{round(value, decimals) + 0.0:.{decimals}f} mm"

    def bare(self, value: float, decimals: int = 1) -> str:
        """Say a length that has no doubt of its own, without its unit.

        Parameters
        ----------
        value : float
            The length. [mm]
        decimals : int
            Figures after the point in mm; in inches two more, three at most.

        Returns
        -------
        str
            Such as ``1.5``.
        """
        return self.plain(value, decimals).rpartition(" ")[0]

    def cut(self, value: float) -> str:
        """Say a size to cut: in inches the fraction too, rounded down since it is cut low.

        Parameters
        ----------
        value : float
            The size. [mm]

        Returns
        -------
        str
            Such as ``49.2``, or ``1.937 (1 15/16")``.
        """
        if self.unit == "in":
            low = Fraction(math.floor(value / INCH * FINEST + 0.05), FINEST)  # 0.02 mm over is no rounding up
            return f"{value / INCH:.3f} ({format_inch_fraction(low * Fraction('25.4'), FINEST)})"
        return f"{value:.1f}"

    def sided(self, number: Derived) -> str:
        """Say a length to one side: its size and the builder's word.

        Parameters
        ----------
        number : Derived
            Left positive.

        Returns
        -------
        str
            Such as ``0.46 ± 0.12 wall``.
        """
        return (
            f"{self.length(abs(float(number.value)), self.doubt(number))} {self.towards(float(number.value))}"
        )

    def towards(self, value: float) -> str:
        """Return the builder's word for the side of a signed number.

        Parameters
        ----------
        value : float
            Left positive. [any]

        Returns
        -------
        str
            The side.
        """
        return self.words.left if value >= 0.0 else self.words.right

    def angle(self, number: Derived) -> str:
        """Say an angle in degrees.

        Parameters
        ----------
        number : Derived
            In radians.

        Returns
        -------
        str
            Such as ``34.12 ± 0.21°``.
        """
        return degrees(float(number.value), self.k * self.doubt(number)) + "°"

    def reading(self, value: float, unit: str, u: float = 0.0) -> str:
        """Say a value in the unit of its input.

        Parameters
        ----------
        value : float
            The value. [any]
        unit : str
            ``mm``, ``rad`` or ``1``.
        u : float
            Its standard uncertainty. [any]

        Returns
        -------
        str
            With its unit.
        """
        if unit == "rad":
            return degrees(value, self.k * u) + "°"
        if unit == "mm":
            return f"{self.length(value, u)} {self.unit}" if u else self.plain(value, 2)
        return f"{100.0 * value:.3f} %"

    def place(self, key: str) -> str:
        """Say a stable id as a place: parts by commas, sides in the builder's words.

        Parameters
        ----------
        key : str
            Such as ``bent/span A/left`` or ``bent/footing of column left``.

        Returns
        -------
        str
            Such as ``bent, span A, aisle`` or ``bent, footing of aisle column``.
        """
        names = key.split("/")
        if len(names) == 1:  # the builder's own name, whatever it says
            return key
        return ", ".join([names[0], *(self._sided(name) for name in names[1:])])

    def _sided(self, name: str) -> str:
        """Put the builder's word for a side before the thing that it tells apart."""
        thing, _, side = name.rpartition(" ")
        if thing and side in ("left", "right"):
            before, _, noun = thing.rpartition(" ")
            return f"{before} {self.side(side)} {noun}".strip()
        return self.side(name)

    def text(self, text: str) -> str:
        """Put the builder's words and unit into a text of a finding or an advice.

        Parameters
        ----------
        text : str
            With ``{left}``, ``{right}``, ``{start}``, ``{finish}``, or ``left side``, ``right side``;
            lengths in mm.

        Returns
        -------
        str
            In the builder's words, lengths in the builder's unit.
        """
        for inner, said in _SAID:
            text = text.replace(inner, said)
        if self.unit != "mm":
            text = _LENGTH.sub(lambda m: self.plain(float(m[0][:-3]), len(m[1] or "")), text)
        for name in ("left", "right", "start", "finish"):
            text = text.replace(f"{{{name}}}", getattr(self.words, name))
        text = re.sub(r"\b(left|right)(?= side\b)", lambda m: self.side(m[1]), text)
        return re.sub(r"\bcolumn (left|right)\b", lambda m: f"{self.side(m[1])} column", text)

    def shares(self, number: Derived, most: int = 3) -> str:
        """Say where most of a number's doubt comes from.

        Parameters
        ----------
        number : Derived
            A scalar.
        most : int
            How many inputs.

        Returns
        -------
        str
            Such as ``tape P1 to b3 (41 %), caliper of the tie (12 %)``; empty without doubt.
        """
        merged: dict[str, float] = {}
        for s in budget(number.jac, self.inputs, most=len(self.inputs.items)):
            merged[s.label] = merged.get(s.label, 0.0) + s.share
        ranked = sorted(merged.items(), key=lambda item: -item[1])[:most]
        return "; ".join(f"{self.text(label)} ({100.0 * share:.0f} %)" for label, share in ranked)


def degrees(value: float, wide: float) -> str:
    """Say an angle in degrees without the sign of degrees.

    Parameters
    ----------
    value : float
        The angle. [rad]
    wide : float
        Its give or take, 0 for none. [rad]

    Returns
    -------
    str
        Such as ``34.12 ± 0.21``.
    """
    if wide <= 0.0:
        return f"{math.degrees(value):.2f}"
    return format_mm(math.degrees(value), math.degrees(wide)).removesuffix(" mm")
