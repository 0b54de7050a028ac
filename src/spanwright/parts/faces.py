"""The four faces of a pier's or abutment's shaft, unrolled, with the cut line all round in true length.

A battered face is longer than the shaft is high, and its edges are longer still; a cut line measured
down the face from drawings of the elevation comes out askew or wrong. Unrolled, the faces form a fan: each
is a trapezium in true length, turned against its neighbour so that they share their edge. Cut out, folded
at the edges and slid over the shaft, the pattern's straight cut lines lie in one level plane.

Order to read: :func:`face_patterns`, then ``_unrolled``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from spanwright.estimation.derived import Derived
from spanwright.estimation.inputs import Inputs, size
from spanwright.structures.given import Support, SupportKind, TrimEnd
from spanwright.structures.stage import Structures
from spanwright.structures.supports import Cut, ShaftSizes, shaft_sizes

FloatArray = np.ndarray

#: The faces in the order in which they follow one another to the right, seen from outside: the shaft is
#: gone round to the left as seen from above. Even ones are as wide as the shaft is along the line.
FACES = ("right", "finish", "left", "start")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShaftFace:
    """One face as seen from outside, in the plane of the unrolled pattern.

    Parameters
    ----------
    looks : str
        Where it looks: ``left`` or ``right`` of the line, towards its ``start`` or ``finish``.
    corners : ndarray, shape (4, 2)
        Foot left, foot right, top right, top left of the shaft as it comes. [mm]
    cut : ndarray, shape (2, 2)
        Ends of the cut line, left and right; of the kept end itself where nothing comes off. [mm]
    waste : ndarray, shape (4, 2) or (0, 2)
        Corners of what comes off; none for a shaft that is made to its size. [mm]
    """

    looks: str
    corners: FloatArray
    cut: FloatArray
    waste: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShaftPattern:
    """The wrap of one shaft and the numbers to mark it by.

    Parameters
    ----------
    id : str
        Stable id of the part, such as ``pier 1/shaft``.
    support : str
        The support it is of.
    batter : float
        Run over rise of each face. [1]
    trim : TrimEnd
        Which end is cut off a kit's shaft.
    cut : Cut
        Its length, what was wanted, what comes off.
    stock : Derived or None
        Height of the kit's shaft; None for a shaft that is made to its size.
    ends : ShaftSizes
        Plan sizes at top and foot once it is cut.
    true_length : float
        Cut length along the middle of a face. [mm]
    edge_length : float
        Cut length along an edge. [mm]
    faces : tuple of ShaftFace
        In the order of :data:`FACES`.
    """

    id: str
    support: str
    batter: float
    trim: TrimEnd
    cut: Cut
    stock: Derived | None
    ends: ShaftSizes
    true_length: float
    edge_length: float
    faces: tuple[ShaftFace, ...]


def along_face(height: float, batter: float) -> float:
    """Return the length along the middle of a battered face.

    Parameters
    ----------
    height : float
        Upright height. [mm]
    batter : float
        Run over rise. [1]

    Returns
    -------
    float
        ``height sqrt(1 + batter^2)``. [mm]
    """
    return float(height * np.sqrt(1.0 + batter * batter))


def along_edge(height: float, batter: float) -> float:
    """Return the length along the edge where two battered faces meet at a right angle in plan.

    Parameters
    ----------
    height : float
        Upright height. [mm]
    batter : float
        Run over rise of both. [1]

    Returns
    -------
    float
        ``height sqrt(1 + 2 batter^2)``. [mm]
    """
    return float(height * np.sqrt(1.0 + 2.0 * batter * batter))


def face_patterns(inputs: Inputs, structures: Structures) -> tuple[ShaftPattern, ...]:
    """Return the unrolled shaft of every pier and abutment.

    Parameters
    ----------
    inputs : Inputs
        The base inputs, with the unseen ones.
    structures : Structures
        The fitted bridge.

    Returns
    -------
    tuple of ShaftPattern
        In station order. A shaft without height, or a kit's shaft that is too short, has no pattern: the
        findings ST120 and ST121 say so. The columns of a bent are cut square by their length alone.
    """
    found = []
    for fitted in structures.supports:
        cut = fitted.cuts[0]
        too_short = cut.trimmed is not None and float(cut.trimmed.value) < 0.0
        if fitted.given.kind is not SupportKind.STRADDLE_BENT and cut.length > 0.0 and not too_short:
            found.append(_pattern(fitted.given, inputs, cut))
    return tuple(found)


def _pattern(support: Support, inputs: Inputs, cut: Cut) -> ShaftPattern:
    stock = size(inputs, support.stock) if support.stock else None
    ends = shaft_sizes(support, inputs, cut)
    whole = cut.length if stock is None else float(stock.value)
    trimmed = whole - cut.length
    # levels of the cut line and of the shaft's own ends above its foot as it comes
    at_top = support.trim is TrimEnd.TOP
    level = cut.length if at_top or stock is None else trimmed
    spread = 2.0 * support.batter
    grown = trimmed * spread
    foot = np.array([float(ends.foot_along.value), float(ends.foot_across.value)])
    if stock is not None and not at_top:
        foot = foot + grown
    return ShaftPattern(
        id=cut.id,
        support=support.name,
        batter=support.batter,
        trim=support.trim,
        cut=cut,
        stock=stock,
        ends=ends,
        true_length=along_face(cut.length, support.batter),
        edge_length=along_edge(cut.length, support.batter),
        faces=_unrolled(foot, (whole, level), support.batter, keeps_foot=at_top or stock is None),
    )


def _unrolled(
    foot: FloatArray, heights: tuple[float, float], batter: float, *, keeps_foot: bool
) -> tuple[ShaftFace, ...]:
    """Lay the faces side by side, each turned so that it shares its left edge with the one before.

    A face leans in by the batter on both sides, so its edges stand ``2 atan(batter / sqrt(1 + batter^2))``
    to one another, whatever its width: each face is turned by that much against the last. The whole is
    turned so that the fan stands upright in the middle.
    """
    whole, level = heights
    lean = float(np.arctan(batter / np.sqrt(1.0 + batter * batter)))
    spoilt = (level, whole) if keeps_foot else (0.0, level)
    faces = []
    corner, turn = np.zeros(2), -3.0 * lean
    for k, looks in enumerate(FACES):
        face = _Flat(corner=corner, turn=turn, wide=float(foot[k % 2]), batter=batter)
        corners = face.strip(0.0, whole)
        waste = face.strip(*spoilt) if spoilt[0] < spoilt[1] else np.zeros((0, 2))
        faces.append(ShaftFace(looks=looks, corners=corners, cut=face.strip(level, level)[:2], waste=waste))
        corner, turn = corners[1], turn + 2.0 * lean
    return tuple(faces)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Flat:
    """One face laid flat: its left foot corner, how it is turned, its width at the foot, its batter."""

    corner: FloatArray
    turn: float
    wide: float
    batter: float

    def strip(self, low: float, high: float) -> FloatArray:
        """Corners of what lies between two levels: low left, low right, high right, high left."""
        across = np.array([np.cos(self.turn), np.sin(self.turn)])
        up = np.array([-np.sin(self.turn), np.cos(self.turn)])
        corners = []
        for level, is_right in ((low, False), (low, True), (high, True), (high, False)):
            inward = self.batter * level
            sideways = self.wide - inward if is_right else inward
            corners.append(self.corner + across * sideways + up * along_face(level, self.batter))
        return np.array(corners)
