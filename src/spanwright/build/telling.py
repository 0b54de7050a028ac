"""Sentences with numbers in them: kept apart until someone says them in the builder's own words.

A text has ``{left}``, ``{right}``, ``{start}``, ``{finish}`` for the builder's words, and ``{0}``,
``{1}`` ... for what fills it: numbers with their doubt, sizes to cut, places.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from spanwright.drawings.speech import INCH, Speech
from spanwright.estimation.derived import Derived
from spanwright.parts.safe_side import Way, sixty_fourths
from spanwright.units import format_inch_fraction


class Said(Enum):
    """How something that fills a sentence is said."""

    NUMBER = "with its doubt"
    PLAIN = "without doubt"
    ROUGH = "to the nearest millimetre"
    CUT_LOW = "a size to cut, never above"
    CUT_LONG = "a size to cut, never below"
    CUT_TO_SIZE = "a size to cut"
    ANGLE = "an angle with its doubt"
    PLACE = "a part or place"
    WORD = "as it stands"


#: To which side each kind of cut size is rounded where it is said in fractions.
_WAY = {Said.CUT_LOW: Way.LOW, Said.CUT_LONG: Way.LONG, Said.CUT_TO_SIZE: Way.TO_SIZE}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Filling:
    """One thing that fills a sentence.

    Parameters
    ----------
    said : Said
        How it is said.
    value : Derived or float or str
        The number, or the id of the place. [mm]
    """

    said: Said
    value: Derived | float | str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Told:
    """A sentence.

    Parameters
    ----------
    text : str
        With its gaps.
    fillings : tuple of Filling
        What fills ``{0}``, ``{1}`` ...
    """

    text: str
    fillings: tuple[Filling, ...] = ()


def told(text: str, *fillings: Filling | Derived | float) -> Told:
    """Make a sentence; a bare number with derivatives is said with its doubt, another without.

    Parameters
    ----------
    text : str
        With its gaps.
    *fillings : Filling or Derived or float
        What fills them. [any]

    Returns
    -------
    Told
        The sentence.
    """
    made = []
    for value in fillings:
        if isinstance(value, Filling):
            made.append(value)
        else:
            made.append(Filling(said=Said.NUMBER if isinstance(value, Derived) else Said.PLAIN, value=value))
    return Told(text=text, fillings=tuple(made))


def place(key: str) -> Filling:
    """Return a part or place that fills a sentence.

    Parameters
    ----------
    key : str
        Its id.

    Returns
    -------
    Filling
        Said in the builder's words.
    """
    return Filling(said=Said.PLACE, value=key)


def word(text: str) -> Filling:
    """Return a word that fills a sentence as it stands, such as a builder's own name.

    Parameters
    ----------
    text : str
        The word.

    Returns
    -------
    Filling
        Said as it is.
    """
    return Filling(said=Said.WORD, value=text)


def rough(value: float) -> Filling:
    """Return a length that fills a sentence without decimals.

    Parameters
    ----------
    value : float
        The length. [mm]

    Returns
    -------
    Filling
        The length.
    """
    return Filling(said=Said.ROUGH, value=value)


def to_cut(value: float, way: Way) -> Filling:
    """Return a size to cut that fills a sentence.

    Parameters
    ----------
    value : float
        The size. [mm]
    way : Way
        To which side it may be rounded.

    Returns
    -------
    Filling
        The size.
    """
    said = next(s for s, w in _WAY.items() if w is way)
    return Filling(said=said, value=value)


def say_cut(value: float, way: Way, say: Speech) -> str:
    """Say a size to cut, with its unit; in inches with a fraction that is rounded to the safe side.

    Parameters
    ----------
    value : float
        The size. [mm]
    way : Way
        To which side.
    say : Speech
        The builder's unit.

    Returns
    -------
    str
        Such as ``49.2 mm``, or ``1.937 in (1 15/16")``.
    """
    if say.unit != "in":
        return f"{value:.1f} mm"
    marks = sixty_fourths(value, way)
    return f"{value / INCH:.3f} in ({format_inch_fraction(marks * Fraction('25.4'), 64)})"


def tell(sentence: Told, say: Speech) -> str:
    """Say a sentence in the builder's words.

    Parameters
    ----------
    sentence : Told
        The sentence.
    say : Speech
        Words, unit, coverage factor.

    Returns
    -------
    str
        Ready to print.
    """
    text = say.text(sentence.text)
    for number, filling in enumerate(sentence.fillings):
        text = text.replace(f"{{{number}}}", _filled(filling, say))
    return text


def _filled(filling: Filling, say: Speech) -> str:
    value = filling.value
    if isinstance(value, str):
        return say.place(value) if filling.said is Said.PLACE else value
    if isinstance(value, Derived):
        return say.angle(value) if filling.said is Said.ANGLE else say.with_unit(value)
    if filling.said in _WAY:
        return say_cut(value, _WAY[filling.said], say)
    if filling.said is Said.ROUGH:
        return say.plain(value, 0)
    return say.plain(value, 2)
