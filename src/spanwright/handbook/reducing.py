"""From full size to the model: the one place where a full-size length of the handbook crosses over."""

from __future__ import annotations

from fractions import Fraction

from spanwright.units import parse_length


def reduced(written: str, ratio: Fraction) -> float:
    """Return a full-size length as the model has it.

    Parameters
    ----------
    written : str
        Full size with its unit, such as ``10 ft 8 in`` or ``2.82 m``.
    ratio : Fraction
        Full size over model size.

    Returns
    -------
    float
        Size of the model. [mm]

    Examples
    --------
    >>> reduced("10 ft 8 in", Fraction(160))
    20.32
    """
    return float(parse_length(written) / ratio)
