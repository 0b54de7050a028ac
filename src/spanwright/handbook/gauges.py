"""Published profiles as gauges to lay along a line: NEM 102 with NEM 103, and those of ``gauges.toml``.

Which gauges there are for a scale: :func:`gauge_names`. One of them: :func:`gauge`. What was not seen of a
source stands in the gauge's ``note`` and goes with every result.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

import numpy as np

from spanwright.clearance.gauges.given import Gauge, GaugeOf, Widening
from spanwright.errors import InputError
from spanwright.handbook.reducing import reduced
from spanwright.handbook.tables import scale, table
from spanwright.units import parse_length

FloatArray = np.ndarray

GROUPS = ("A", "B", "C")
#: The lead-in labels of the NEM 103 sketch, in gauges: the whole widening for 3 G past the curve, none
#: after 14 G. The sketch was not seen; this reading is ours and on the safe side.
FULL_FOR = 3.0
GONE_AFTER = 14.0

_NEM = re.compile(
    r"NEM 102(?P<wire> with wire)?(?: (?P<size>Z|N|TT|H0|S|0|I|II))?"
    r"(?:, (?P<straight>straight)|, group (?P<group>[ABC]))?"
)
_ROUND = 72  # sides of a half circle: outside it by 0.03 per cent of its radius at most
_SAME_RATIO = 0.02  # a scale is a nominal size if its ratio is within 2 per cent: HO is H0
_LEADS = (
    "NEM 103's sketch of the lead-in was not seen: the whole widening is kept for 3 G beyond the curve and"
    " ends after 14 G, our reading of its labels. E is the same on both sides and is not a throw"
)


@cache
def _profiles() -> Mapping[str, Mapping[str, Any]]:
    text = resources.files(__package__).joinpath("gauges.toml").read_text(encoding="utf-8")
    return MappingProxyType({k: MappingProxyType(v) for k, v in tomllib.loads(text).items()})


def nem_size(ratio: Fraction, track: float) -> str | None:
    """Return the nominal size of NEM 010 that a scale on a gauge is.

    Parameters
    ----------
    ratio : Fraction
        Full size over model size.
    track : float
        Track gauge. [mm]

    Returns
    -------
    str or None
        Such as ``H0``; None if it is none of them, as OO is not.

    Examples
    --------
    >>> nem_size(Fraction("87.1"), 16.5)
    'H0'
    >>> nem_size(Fraction("76.2"), 16.5) is None
    True
    """
    for size, (listed, gauge_width) in table("NEM 010").values.items():
        if abs(float(ratio) / listed - 1.0) < _SAME_RATIO and abs(track / gauge_width - 1.0) < _SAME_RATIO:
            return str(size)
    return None


def gauge_names(ratio: Fraction, track: float) -> tuple[str, ...]:
    """Return the names of the gauges that fit a scale.

    Parameters
    ----------
    ratio : Fraction
        Full size over model size.
    track : float
        Track gauge. [mm]

    Returns
    -------
    tuple of str
        The NEM ones only for a nominal size of NEM 010.
    """
    names: list[str] = []
    if nem_size(ratio, track):
        for which in ("NEM 102", "NEM 102 with wire"):
            names += [which, f"{which}, straight", *(f"{which}, group {g}" for g in GROUPS)]
    return (*names, *(name for name, raw in _profiles().items() if _fits(raw, ratio)))


def _fits(raw: Mapping[str, Any], ratio: Fraction) -> bool:
    if not raw.get("model"):
        return True
    return abs(float(ratio / scale(raw["scale"]).ratio) - 1.0) < _SAME_RATIO


def nem_profile(size: str, *, wire: bool = False) -> FloatArray:
    """Return the corners of NEM 102.

    Parameters
    ----------
    size : str
        Nominal size, such as ``H0``.
    wire : bool
        With the room for an overhead line.

    Returns
    -------
    ndarray, shape (m, 2)
        (left of centre, height above railhead), counter-clockwise. [mm]

    Raises
    ------
    InputError
        If the table has no such size.

    Notes
    -----
    BL3 up to HL1, BL1 from there to HL3, straight in to BL2 at HL4. With a wire BL4 on top of that, its
    upper corners cut at 45 degrees to BL5 at HL5. HL2 is for loading ramps only and is left out. Which
    corner a letter means is taken from the order of the labels.
    """
    rows = table("NEM 102").values
    if size not in rows:
        raise InputError("NEM 102 has no such size", code="HB006", value=size, limit=", ".join(rows))
    row = dict(zip(table("NEM 102").columns, rows[size], strict=True))
    left = [
        (row["BL3"] / 2, 0.0),
        (row["BL3"] / 2, row["HL1"]),
        (row["BL1"] / 2, row["HL1"]),
        (row["BL1"] / 2, row["HL3"]),
    ]
    if wire:
        share = (row["BL1"] - row["BL4"]) / (row["BL1"] - row["BL2"])
        left += [
            (row["BL4"] / 2, row["HL3"] + share * (row["HL4"] - row["HL3"])),
            (row["BL4"] / 2, row["HL5"] - (row["BL4"] - row["BL5"]) / 2),
            (row["BL5"] / 2, row["HL5"]),
        ]
    else:
        left.append((row["BL2"] / 2, row["HL4"]))
    return _mirrored(left)


def _mirrored(left: list[tuple[float, float]]) -> FloatArray:
    """Return the whole profile from its left half, given from the bottom up."""
    right = [(-y, z) for y, z in left if y > 0]
    return np.array(right[:1] + left + right[:0:-1])


def nem_widening(size: str, group: str) -> Widening:
    """Return the widening of NEM 103 for a group of coaches.

    Parameters
    ----------
    size : str
        Nominal size.
    group : str
        ``A``, ``B`` or ``C``.

    Returns
    -------
    Widening
        The printed rows of that group with our reading of the lead-in.

    Raises
    ------
    InputError
        If there is no such size or group.
    """
    printed = table("NEM 103 widening")
    if size not in printed.values or group not in GROUPS:
        raise InputError(
            "NEM 103 has no such size or group",
            code="HB006",
            value=f"{size}, group {group}",
            limit=f"{', '.join(printed.values)}; {', '.join(GROUPS)}",
        )
    column = printed.columns.index(group)
    rows = [(row[0], row[column]) for row in printed.values[size] if len(row) > column]
    track = scale(size).gauge
    return Widening(
        name=f"NEM 103 {size}, group {group},",
        radii=np.array([r for r, _ in rows], dtype=float),
        each_side=np.array([e for _, e in rows], dtype=float),
        full_for=FULL_FOR * track,
        gone_after=GONE_AFTER * track,
    )


def gauge(name: str, ratio: Fraction, track: float) -> Gauge:
    """Return a published gauge at the size of the model.

    Parameters
    ----------
    name : str
        One of :func:`gauge_names`. ``NEM 102`` alone widens for group C, the longest coaches; a nominal
        size may follow it.
    ratio : Fraction
        Full size over model size.
    track : float
        Track gauge. [mm]

    Returns
    -------
    Gauge
        The gauge with its source and what was not seen of it.

    Raises
    ------
    InputError
        If there is no gauge of this name for this scale.
    """
    asked = _NEM.fullmatch(name)
    if asked:
        size = asked["size"] or nem_size(ratio, track)
        if size is not None:
            return _nem(
                size, asked["group"] or "C", wire=bool(asked["wire"]), straight=bool(asked["straight"])
            )
    raw = _profiles().get(name)
    if raw is None or not _fits(raw, ratio):
        raise InputError(
            "the handbook has no gauge of this name for this scale",
            code="HB006",
            value=name,
            limit="one of: " + "; ".join(gauge_names(ratio, track)),
            hint="Or give your own as [[gauges]] with a name and a polygon",
        )
    return Gauge(
        id=name,
        polygon=_polygon(raw, ratio),
        of=GaugeOf(raw["of"]),
        source=f"{raw['source']}, {raw['edition']}, {raw['locus']}",
        status=raw["status"],
        note=" ".join(raw["note"].split()),
    )


def _nem(size: str, group: str, *, wire: bool, straight: bool) -> Gauge:
    citation = table("NEM 102").citation
    named = f"NEM 102 {size}{' with wire' if wire else ''}"
    fuller = "The slope from BL1 to BL2 is drawn straight; cut at 45 degrees its shoulder would be fuller"
    notes = [" ".join(citation.note.split()), fuller]
    if wire:
        notes.append(
            "HL5 is for the lowest wire without a messenger: add the height of the overhead equipment"
        )
    if straight:
        notes.append("Without the widening of NEM 103: good for straight track only")
    else:
        notes += [_LEADS, "NEM 103's shaded cells, for interpolation only, could not be told from the others"]
    return Gauge(
        id=f"{named}, straight" if straight else f"{named}, group {group}",
        polygon=nem_profile(size, wire=wire),
        widening=None if straight else nem_widening(size, group),
        source=f"{citation.source}, {citation.edition}" + ("" if straight else "; MOROP NEM 103, 2016"),
        status=citation.status,
        note=". ".join(n.rstrip(".") for n in notes) + ".",
    )


def _polygon(raw: Mapping[str, Any], ratio: Fraction) -> FloatArray:
    def size(written: str) -> float:
        return float(parse_length(written)) if raw.get("model") else reduced(written, ratio)

    left = [(size(y), size(z)) for y, z in raw["corners"]]
    if "arc" in raw:
        radius, centre = (size(v) for v in raw["arc"])
        # the sides touch the circle from outside, so that the gauge is never smaller than the printed one
        half = np.pi / 2 / _ROUND
        outer = radius / np.cos(half)
        turns = half * (2 * np.arange(_ROUND // 2) + 1)
        left.append((radius, centre))
        left += [(float(outer * np.cos(a)), float(centre + outer * np.sin(a))) for a in turns]
    return _mirrored(left)
