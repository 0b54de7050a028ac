"""Lengths, angles and scales as people write them, and back again: the one place that converts.

Read in this order: :func:`parse_length` takes a length exactly, as a fraction of a millimetre;
:func:`parse_angle` takes angles, slopes and gradients; :func:`parse_scale` the two ways of saying a
scale; the ``format_`` functions write results. What cannot be read in exactly one way is refused.

An inch is 25.4 mm exactly.
"""

from __future__ import annotations

import math
import re
import unicodedata
from decimal import Decimal
from fractions import Fraction

from spanwright.errors import InputError

INCH = Fraction(254, 10)
FOOT = 12 * INCH

_LONGEST = 60  # characters; no length is longer in writing
_LARGEST = 10**9  # mm

_NAMES = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": INCH,
    "inch": INCH,
    "inches": INCH,
    '"': INCH,
    "ft": FOOT,
    "foot": FOOT,
    "feet": FOOT,
    "'": FOOT,
}
_METRIC = ("mm", "cm", "m")
_DECIMAL = r"(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_RATIO = r"\d+/\d+"
_MIXED = rf"(?:\d+(?:\s+|\s*-\s*){_RATIO}|{_RATIO}|{_DECIMAL})"
_ONE_UNIT = re.compile(
    rf"(?P<number>{_MIXED})\s*(?P<unit>mm|cm|m|inches|inch|in|feet|foot|ft|\"|')?", re.ASCII
)
_FEET_AND_INCHES = re.compile(
    rf"(?P<feet>\d+)\s*(?:feet|foot|ft|')\s*-?\s*(?P<inches>{_MIXED})\s*(?:inches|inch|in|\")?", re.ASCII
)
_FULL_SIZE = re.compile(r"\s*(?:proto|prototype|full size)$")
_SIGNS = str.maketrans(
    {
        **dict.fromkeys("′’‘ʹ´`", "'"),
        **dict.fromkeys("″”“ʺ", '"'),
        **dict.fromkeys("−‒–", "-"),
        **dict.fromkeys("\u00a0\u2009\u202f\u2007\t", " "),
        "⁄": "/",
        "º": "°",
    }
)
_LENGTH_EXAMPLES = 'a length such as 12.7 mm, 1.5 cm, 3 1/2", 22\'6" or 1/64"'
_ANGLE_EXAMPLES = "an angle or slope such as 1.2 deg, 38°48'50.7\", 0.02 rad, 1.8 %, 1:55 or 1 in 55"
_SCALE_EXAMPLES = "a scale such as 1:160, 1:87.1 or 3.5 mm = 1 ft"


def _plain(text: str) -> str:
    """Write primes, minus signs, spaces and fraction characters in one way."""
    spelt = []
    for character in text:
        if unicodedata.category(character) == "No" and "⁄" in unicodedata.normalize("NFKC", character):
            spelt.append(" " + unicodedata.normalize("NFKC", character))
        else:
            spelt.append(character)
    plain = "".join(spelt).translate(_SIGNS).replace("''", '"')
    return " ".join(plain.split())


def _decimal(text: str) -> Fraction:
    return Fraction(Decimal(text.replace(",", ".")))


def _has_thousands(text: str) -> bool:
    """Tell whether a comma may be a decimal comma or a thousands mark: 1,234 but not 0,125 or 12,7."""
    return re.search(r"(?<![\d.,])[1-9]\d{0,2},\d{3}(?!\d)", text, re.ASCII) is not None


def _number(text: str) -> Fraction | None:
    """Return the value of a decimal, a fraction or a mixed number; None if its fraction is not one."""
    whole, _, ratio = re.sub(r"\s*-\s*", " ", text).rpartition(" ")
    if "/" not in ratio:
        return _decimal(text)
    above, below = (int(part) for part in ratio.split("/"))
    if below == 0 or (whole and above >= below):
        return None
    return Fraction(int(whole or 0)) + Fraction(above, below)


def _length_error(text: object, why: str, hint: str = "") -> InputError:
    return InputError(why, code="UN001", value=text, limit=_LENGTH_EXAMPLES, hint=hint)


def _body(text: str, unit: str, original: object) -> Fraction:
    """Return an unsigned length in mm."""
    both = _FEET_AND_INCHES.fullmatch(text)
    if both:
        inches = _number(both["inches"])
        if inches is None or inches >= 12:
            raise _length_error(original, "the inches after the feet must be less than 12")
        return int(both["feet"]) * FOOT + inches * INCH
    one = _ONE_UNIT.fullmatch(text)
    if not one:
        raise _length_error(original, "this length cannot be read")
    number = _number(one["number"])
    if number is None:
        raise _length_error(original, "this fraction cannot be meant")
    if one["unit"] is None and "/" in text and unit in _METRIC:
        hint = 'A fraction without a unit: write 1/8" for inches or 1/8 mm'
        raise _length_error(original, f"a bare fraction is not plain where lengths are in {unit}", hint)
    return number * _NAMES[one["unit"] or unit]


def parse_length(text: str | int | float, unit: str = "mm", *, scale: Fraction | None = None) -> Fraction:
    r"""Read a length as people write it, exactly.

    A sign may stand in front. A decimal comma is read; ``1,234`` is refused, since it may be a
    thousand. Inches after feet are less than 12. ``proto`` (or ``full size``) after a length says that
    it is full size: it is divided by the scale.

    Parameters
    ----------
    text : str or number
        What was written; a number is taken by its shortest decimal.
    unit : str
        The unit of a bare number: ``mm``, ``cm``, ``m``, ``in``, ``inch`` or ``ft``.
    scale : Fraction or None
        Full size over model size; None where a full-size length has no place.

    Returns
    -------
    Fraction
        Model millimetres.

    Raises
    ------
    InputError
        If the text cannot be read in exactly one way.

    Examples
    --------
    >>> parse_length('24 1/8"')
    Fraction(24511, 40)
    >>> float(parse_length("22'6\" proto", scale=Fraction(160)))
    42.8625
    """
    if unit not in _NAMES:
        raise InputError("no such unit of length", code="UN004", value=unit, limit="mm, cm, m, inch or ft")
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise _length_error(text, "this is not a length")
    if isinstance(text, float) and not math.isfinite(text):
        raise _length_error(text, "a length must be a finite number")
    if not isinstance(text, str):
        result = Fraction(Decimal(repr(text)) if isinstance(text, float) else text) * _NAMES[unit]
    else:
        result = _signed_length(text, unit, scale)
    if abs(result) > _LARGEST:
        shown = (
            text if not isinstance(text, int) else f"{text:.10g}" if abs(text) < 10**300 else "a huge number"
        )
        raise _length_error(shown, "this length is too large to be meant")
    return result


def _signed_length(text: str, unit: str, scale: Fraction | None) -> Fraction:
    plain = _plain(text)
    if not plain or len(text) > _LONGEST:
        raise _length_error(text[:_LONGEST], "there is no length here" if not plain else "this is too long")
    if _has_thousands(plain):
        raise _length_error(
            text, "the comma can be read in two ways", "Write 1.234 or 1234, whichever is meant"
        )
    sign = -1 if plain[0] == "-" else 1
    body = plain[1:].lstrip() if plain[0] in "+-" else plain
    model = _FULL_SIZE.sub("", body)
    if model == body:
        return sign * _body(body, unit, text)
    if scale is None:
        raise _length_error(text, "a full-size length has no place here", "Give the size of the model")
    if re.fullmatch(_MIXED, model):
        raise _length_error(text, "a full-size length needs its unit", "Write 50 ft proto or 15 m proto")
    return sign * _body(model, unit, text) / scale


def _angle_error(text: object, why: str) -> InputError:
    return InputError(why, code="UN002", value=text, limit=_ANGLE_EXAMPLES)


_SEXAGESIMAL = re.compile(
    rf"(?P<d>{_DECIMAL})\s*(?:°|degrees|degree|deg)"
    rf"(?:\s*(?P<m>{_DECIMAL})\s*')?(?:\s*(?P<s>{_DECIMAL})\s*\")?",
    re.ASCII,
)
_RADIANS = re.compile(rf"(?P<n>{_DECIMAL})\s*(?P<unit>rad|mrad)", re.ASCII)
_SLOPE = re.compile(rf"(?P<n>{_DECIMAL})\s*(?P<unit>%|‰|per cent)", re.ASCII)
_GRADIENT = re.compile(rf"1\s*(?::|in)\s*(?P<n>{_DECIMAL})", re.ASCII)
_SAYS_ANGLE = re.compile(r"°|deg|rad|%|‰|:|per cent|\bin\s*\d")


def is_angle_text(text: object) -> bool:
    """Tell whether a value is written as an angle or slope rather than as a length.

    Parameters
    ----------
    text : object
        What was written.

    Returns
    -------
    bool
        True for ``1.2 deg``, ``0.02 rad``, ``1.8 %``, ``1:55``; false for lengths and bare numbers.
    """
    return isinstance(text, str) and _SAYS_ANGLE.search(_plain(text)) is not None


def parse_angle(text: str | int | float) -> float:
    """Read an angle or a slope.

    A slope (per cent, per mille, ``1:55``, ``1 in 55``) is rise over level run. A number without a
    unit is refused, except 0.

    Parameters
    ----------
    text : str or number
        What was written.

    Returns
    -------
    float
        The angle. [rad]

    Raises
    ------
    InputError
        If the text cannot be read in exactly one way.

    Examples
    --------
    >>> round(parse_angle("1 in 55"), 6)
    0.01818
    """
    if isinstance(text, (int, float)) and not isinstance(text, bool) and text == 0:
        return 0.0
    if not isinstance(text, str):
        raise _angle_error(text, "an angle needs its unit")
    plain = _plain(text)
    if not plain or len(text) > _LONGEST:
        raise _angle_error(text[:_LONGEST], "there is no angle here" if not plain else "this is too long")
    if _has_thousands(plain):
        raise _angle_error(text, "the comma can be read in two ways")
    sign = -1.0 if plain[0] == "-" else 1.0
    body = plain[1:].lstrip() if plain[0] in "+-" else plain
    return sign * _unsigned_angle(body, text)


def _unsigned_angle(body: str, text: str) -> float:
    if re.fullmatch(r"0+([.,]0+)?", body):
        return 0.0
    if match := _SEXAGESIMAL.fullmatch(body):
        return _degrees(match, text)
    if match := _RADIANS.fullmatch(body):
        return float(_decimal(match["n"])) * (1e-3 if match["unit"] == "mrad" else 1.0)
    if match := _SLOPE.fullmatch(body):
        return math.atan(float(_decimal(match["n"]) / (1000 if match["unit"] == "‰" else 100)))
    if match := _GRADIENT.fullmatch(body):
        run = _decimal(match["n"])
        if run == 0:
            raise _angle_error(text, "a gradient of 1 in 0 cannot be meant")
        return math.atan(float(1 / run))
    if re.fullmatch(_DECIMAL, body):
        raise _angle_error(text, "an angle needs its unit")
    raise _angle_error(text, "this angle cannot be read")


def _degrees(match: re.Match[str], text: str) -> float:
    degrees, minutes, seconds = (_decimal(match[key] or "0") for key in "dms")
    if minutes >= 60 or seconds >= 60:
        raise _angle_error(text, "minutes and seconds of an angle must be less than 60")
    if (match["m"] or match["s"]) and degrees.denominator != 1:
        raise _angle_error(text, "degrees before minutes must be whole")
    if match["s"] and minutes.denominator != 1:
        raise _angle_error(text, "minutes before seconds must be whole")
    return math.radians(float(degrees + minutes / 60 + seconds / 3600))


_PERCENT = re.compile(rf"(?P<n>{_DECIMAL})\s*(?:%|per cent)", re.ASCII)


def parse_share(text: object) -> Fraction:
    """Read a share in per cent.

    Parameters
    ----------
    text : object
        What was written, such as ``0.05 %``.

    Returns
    -------
    Fraction
        The share, 1 for 100 %.

    Raises
    ------
    InputError
        If it is not a number of per cent.
    """
    match = _PERCENT.fullmatch(_plain(text)) if isinstance(text, str) and len(text) <= _LONGEST else None
    if not match or _has_thousands(match["n"]):
        raise InputError(
            "this share cannot be read", code="UN005", value=text, limit="a share such as 0.05 %"
        )
    return _decimal(match["n"]) / 100


_TIME = re.compile(
    rf"(?:(?P<d>{_DECIMAL})\s*(?:days|day|d))?\s*(?:(?P<h>{_DECIMAL})\s*(?:hours|hour|h))?"
    rf"\s*(?:(?P<m>{_DECIMAL})\s*(?:minutes|minute|min))?",
    re.ASCII,
)
_HOURS_A_DAY = 24


def parse_hours(text: object) -> Fraction:
    """Read a length of time.

    Parameters
    ----------
    text : object
        What was written, such as ``90 min``, ``1 h 30 min``, ``2.5 h`` or ``2 days``.

    Returns
    -------
    Fraction
        Hours, exactly.

    Raises
    ------
    InputError
        If it is no time with its unit.

    Examples
    --------
    >>> parse_hours("1 h 30 min")
    Fraction(3, 2)
    """
    plain = _plain(text) if isinstance(text, str) and len(text) <= _LONGEST else ""
    match = _TIME.fullmatch(plain) if plain else None
    if not match or _has_thousands(plain):
        raise InputError(
            "this time cannot be read", code="UN007", value=text, limit="a time such as 90 min, 2 h or 1 day"
        )
    days, hours, minutes = (_decimal(match[key] or "0") for key in "dhm")
    return days * _HOURS_A_DAY + hours + minutes / 60


_SCALE_RATIO = re.compile(rf"1\s*[:/]\s*(?P<n>{_DECIMAL})", re.ASCII)


def parse_scale(text: object) -> Fraction:
    """Read a scale, said as a ratio or as a length to the foot.

    Parameters
    ----------
    text : object
        What was written, such as ``1:160`` or ``3.5 mm = 1 ft``.

    Returns
    -------
    Fraction
        Full size over model size.

    Raises
    ------
    InputError
        If it cannot be read, or if the model would be larger than full size.

    Examples
    --------
    >>> parse_scale("4 mm = 1 ft")
    Fraction(381, 5)
    """
    plain = _plain(text) if isinstance(text, str) and len(text) <= _LONGEST else ""
    ratio = Fraction(0)
    if match := _SCALE_RATIO.fullmatch(plain):
        ratio = Fraction(0) if _has_thousands(match["n"]) else _decimal(match["n"])
    elif plain.count("=") == 1:
        model, full = (parse_length(part.strip(), "mm") for part in plain.split("="))
        ratio = full / model if model > 0 else Fraction(0)
    if ratio < 1:
        raise InputError("this scale cannot be read", code="UN003", value=text, limit=_SCALE_EXAMPLES)
    return ratio


def format_mm(value: float, u: float) -> str:
    """Write a length with its doubt, two figures of doubt.

    Parameters
    ----------
    value : float
        The length. [mm]
    u : float
        Its doubt, as it is to be shown. [mm]

    Returns
    -------
    str
        Such as ``43.12 ± 0.31 mm``; without doubt, three decimals.

    Raises
    ------
    InputError
        If one of them is not finite, or the doubt is negative.

    Examples
    --------
    >>> format_mm(43.1234, 0.0996)
    '43.12 ± 0.10 mm'
    """
    if not (math.isfinite(value) and math.isfinite(u) and u >= 0):
        raise InputError("a length to be shown is not finite", code="UN006", value=(value, u))
    if u == 0:
        return f"{value + 0.0:.3f} mm".replace("-0.000 mm", "0.000 mm")
    decimals = 1 - int(f"{u:.1e}".split("e")[1])
    shown = f"{round(value, decimals) + 0.0:.{max(0, decimals)}f}"
    if not any(figure in shown for figure in "123456789"):
        shown = shown.lstrip("-")
    return f"{shown} ± {round(u, decimals):.{max(0, decimals)}f} mm"


def format_inch_fraction(value_mm: float | Fraction, denominator: int = 64) -> str:
    """Write a length as the nearest fraction of an inch; a tie goes to the even numerator.

    Parameters
    ----------
    value_mm : float or Fraction
        The length. [mm]
    denominator : int
        The finest fraction, such as 64.

    Returns
    -------
    str
        Such as ``24 1/8"``.

    Raises
    ------
    InputError
        If the length is not finite or the denominator not positive.

    Examples
    --------
    >>> format_inch_fraction(612.775)
    '24 1/8"'
    """
    if denominator < 1 or not math.isfinite(value_mm):
        raise InputError(
            "a length to be shown is not finite", code="UN006", value=(float(value_mm), denominator)
        )
    parts = Fraction(round(Fraction(value_mm) / INCH * denominator), denominator)
    whole, rest = divmod(abs(parts), 1)
    sign = "-" if parts < 0 else ""
    if not rest:
        return f'{sign}{whole}"'
    return f'{sign}{whole} {rest}"' if whole else f'{sign}{rest}"'
