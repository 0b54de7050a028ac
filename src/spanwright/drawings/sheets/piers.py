"""The wrap of each pier's and abutment's shaft: its faces side by side, to be folded round it.

The paper is cut out along its outline and along the cut line, folded and slid over the end that is kept:
its edge is then the line to cut by, all round. What of a kit's shaft lies beyond is shown hatched.
"""

from __future__ import annotations

import numpy as np
from shapely import Polygon, union_all

from spanwright.drawings import fonts
from spanwright.drawings.display import Item, Point, Role, Sheet, path
from spanwright.drawings.draughting import Draught, bounds
from spanwright.drawings.sheets.hatching import hatching
from spanwright.drawings.sheets.ruled import ruled
from spanwright.drawings.speech import Speech
from spanwright.parts.faces import ShaftFace, ShaftPattern, along_edge, along_face
from spanwright.structures.given import TrimEnd

FloatArray = np.ndarray

#: Width of the strip that laps under the first face (common practice, no source). [mm]
LAP = 5.0
_AWAY = 7.0
CAUTIONS = (
    "Saw lightly with the shaft in a bench hook and a sharp, fine blade; fingers behind the blade, eyes"
    " covered. A plaster shaft breaks if it is forced: score it all round first.",
    "Dust of plaster and resin harms lungs and eyes: wear a mask and goggles, rub down wet, work outdoors or"
    " with suction.",
)


def pier_sheets(patterns: tuple[ShaftPattern, ...], say: Speech) -> tuple[Sheet, ...]:
    """Draw the wrap of every shaft at full size.

    Parameters
    ----------
    patterns : tuple of ShaftPattern
        The unrolled shafts.
    say : Speech
        The builder's words and unit.

    Returns
    -------
    tuple of Sheet
        One a shaft, ids such as ``wrap/pier 1``.
    """
    return tuple(_sheet(pattern, say) for pattern in patterns)


def _sheet(pattern: ShaftPattern, say: Speech) -> Sheet:
    draught = Draught()
    draught.add(_lines(pattern))
    _widths(draught, pattern, say)
    _names(draught, pattern, say)
    _lengths(draught, pattern, say)
    left, bottom, _, _ = bounds(draught.items)
    ruled(draught, (left, bottom - 5.0), ("", ""), _rows(pattern, say))
    return Sheet(
        id=f"wrap/{pattern.support}",
        title=f"{say.place(pattern.id)}: wrap to mark the cut all round",
        items=draught.items,
        true=True,
        side_up="printed side out",
        notes=_notes(pattern, say),
    )


def _kept(face: ShaftFace, *, top: bool) -> FloatArray:
    """Corners of what is kept of a face: foot left, foot right, top right, top left."""
    if not len(face.waste):
        return face.corners
    if top:  # the foot is kept
        return np.array([face.corners[0], face.corners[1], face.cut[1], face.cut[0]])
    return np.array([face.cut[0], face.cut[1], face.corners[2], face.corners[3]])


def _lap(pattern: ShaftPattern) -> FloatArray:
    """Return the strip beside the last face, its ends cut back so that it slips under the first."""
    kept = _kept(pattern.faces[-1], top=pattern.trim is TrimEnd.TOP)
    foot, top = kept[1], kept[2]
    up = (top - foot) / np.hypot(*(top - foot))
    out = np.array([up[1], -up[0]]) * LAP
    back = up * 0.4 * LAP
    return np.array([foot, foot + out + back, top + out - back, top])


def _lines(pattern: ShaftPattern) -> list[Item]:
    at_top = pattern.trim is TrimEnd.TOP
    items: list[Item] = []
    kept = [_kept(face, top=at_top) for face in pattern.faces]
    foot_is_cut = bool(len(pattern.faces[0].waste)) and not at_top
    top_is_cut = bool(len(pattern.faces[0].waste)) and at_top
    lap = _lap(pattern)
    foot = [kept[0][0], *(k[1] for k in kept)]
    top = [kept[0][3], *(k[2] for k in kept)]
    items.append(path(foot, Role.CUT if foot_is_cut else Role.OUTLINE))
    items.append(path(top, Role.CUT if top_is_cut else Role.OUTLINE))
    items.append(path([foot[0], top[0]], Role.OUTLINE))
    items.append(path(lap, Role.OUTLINE))
    items += [path([a, b], Role.FOLD) for a, b in zip(foot[1:], top[1:], strict=True)]
    if foot_is_cut or top_is_cut:
        # hatched as one area, so that the lines run on from face to face
        items += hatching(union_all([Polygon(f.waste) for f in pattern.faces]), 1.0)
        ends = (0, 1) if foot_is_cut else (3, 2)
        rim = [pattern.faces[0].corners[ends[0]], *(f.corners[ends[1]] for f in pattern.faces)]
        cut = top if top_is_cut else foot
        items.append(path(rim, Role.REFERENCE))
        items += [path([a, b], Role.REFERENCE) for a, b in zip(rim, cut, strict=True)]
    return items


def _turn(face: ShaftFace) -> float:
    way = face.corners[1] - face.corners[0]
    return float(np.arctan2(way[1], way[0]))


def _plain(p: FloatArray) -> Point:
    return (float(p[0]), float(p[1]))


def _widths(draught: Draught, pattern: ShaftPattern, say: Speech) -> None:
    """Width of each face at its top, at its foot and at the cut, set along that edge."""
    at_top = pattern.trim is TrimEnd.TOP
    for face in pattern.faces:
        turn = _turn(face)
        up = np.array([-np.sin(turn), np.cos(turn)])
        kept = _kept(face, top=at_top)
        below, above = 0.5 * (kept[0] + kept[1]), 0.5 * (kept[2] + kept[3])
        cut_low = bool(len(face.waste)) and not at_top
        cut_high = bool(len(face.waste)) and at_top
        for middle, inward, ends in (
            (below, 1.0 if cut_low else -1.0, kept[:2]),
            (above, -1.0 if cut_high else 1.0, kept[2:]),
        ):
            gap = 0.9 if inward > 0.0 else 0.9 + 0.73 * draught.size
            said = say.bare(float(np.hypot(*(ends[1] - ends[0]))), 2)
            draught.label(said, _plain(middle + up * gap * inward), away=_plain(up * inward), turn=turn)


def _names(draught: Draught, pattern: ShaftPattern, say: Speech) -> None:
    """Where each face looks, along it or up it where it is narrow; top, foot and what is waste."""
    words = {"start": f"{say.words.start} face", "finish": f"{say.words.finish} face"}
    at_top = pattern.trim is TrimEnd.TOP
    for face in pattern.faces:
        said = words.get(face.looks, f"{say.side(face.looks)} face")
        kept = _kept(face, top=at_top)
        middle, turn = kept.mean(axis=0), _turn(face)
        narrow = min(float(np.hypot(*(kept[1] - kept[0]))), float(np.hypot(*(kept[2] - kept[3]))))
        across = np.array([np.cos(turn), np.sin(turn)])
        up = np.array([-np.sin(turn), np.cos(turn)])
        if fonts.width(said, draught.size, bold=True) > narrow - 3.0:
            at = middle + across * 0.36 * draught.size
            draught.label(said, _plain(at), away=_plain(up), turn=turn + 0.5 * np.pi, bold=True)
        else:
            at = middle + up * (0.25 * float((kept[3] - kept[0]) @ up))
            draught.label(said, _plain(at), away=_plain(-up), turn=turn, bold=True)
    lap = _lap(pattern)
    middle = lap.mean(axis=0)
    turn = float(np.arctan2(*(lap[3] - lap[0])[::-1]))
    side = np.array([np.sin(turn), -np.cos(turn)]) * 0.36 * draught.size
    draught.label("lap, under", _plain(middle + side), away=_plain(lap[3] - lap[0]), turn=turn)


def _lengths(draught: Draught, pattern: ShaftPattern, say: Speech) -> None:
    """Dimension the true lengths: along an edge, up the middle of a face, and of the shaft as it comes."""
    at_top = pattern.trim is TrimEnd.TOP
    first = _kept(pattern.faces[0], top=at_top)
    draught.dimension(
        _plain(first[0]), _plain(first[3]), f"{say.bare(pattern.edge_length, 2)} along the edge", offset=_AWAY
    )
    second = _kept(pattern.faces[1], top=at_top)
    foot, top = 0.5 * (second[0] + second[1]), 0.5 * (second[2] + second[3])
    across = (second[1] - second[0]) / np.hypot(*(second[1] - second[0]))
    narrow = min(float(np.hypot(*(b - a))) for a, b in (second[:2], second[2:]))
    aside = across * max(0.5 * narrow - 1.5, 0.0)  # near the fold, clear of the words in the middle
    draught.dimension(
        _plain(foot + aside),
        _plain(top + aside),
        f"{say.bare(pattern.true_length, 2)} up the face",
        offset=0.0,
    )
    if pattern.stock is not None and len(pattern.faces[0].waste):
        last = pattern.faces[-1].corners
        whole = along_edge(float(pattern.stock.value), pattern.batter)
        draught.dimension(
            _plain(last[1]),
            _plain(last[2]),
            f"{say.bare(whole, 2)} along the edge, as it comes",
            offset=-(_AWAY + LAP),
        )


def ratio(batter: float) -> str:
    """Say a batter as one sideways in so many of height.

    Parameters
    ----------
    batter : float
        Run over rise. [1]

    Returns
    -------
    str
        Such as ``1:24``; ``none`` for upright faces.
    """
    return f"1:{1.0 / batter:.4g}" if batter > 0.0 else "none"


def _rows(pattern: ShaftPattern, say: Speech) -> list[tuple[str, str]]:
    cut, ends, end = pattern.cut, pattern.ends, pattern.trim.value
    rows = [
        ("cut length, upright, as high as the shaft is to stand", _cut_size(cut.length, say)),
        ("length that would leave just the thinnest packing", say.with_unit(cut.wanted)),
        ("along the middle of each face", say.plain(pattern.true_length, 2)),
        ("along each edge", say.plain(pattern.edge_length, 2)),
        ("batter of each face", ratio(pattern.batter)),
    ]
    if pattern.stock is not None and cut.trimmed is not None:
        waste = along_face(float(cut.trimmed.value), pattern.batter)
        rows += [
            ("height of the kit's shaft as it comes", say.with_unit(pattern.stock)),
            (f"comes off at the {end}, upright", say.with_unit(cut.trimmed)),
            (f"comes off at the {end}, along the middle of each face", say.plain(waste, 2)),
        ]
    rows += [
        (f"top when cut, along the line ({_pair(say)} faces)", say.with_unit(ends.top_along)),
        (f"top when cut, across ({_ends(say)} faces)", say.with_unit(ends.top_across)),
        ("foot when cut, along the line", say.with_unit(ends.foot_along)),
        ("foot when cut, across", say.with_unit(ends.foot_across)),
    ]
    return rows


def _cut_size(length: float, say: Speech) -> str:
    """Say a size to cut with its unit, in inches with the fraction behind it."""
    size, bracket, fraction = say.cut(length).partition(" (")
    return f"{size} {say.unit}{bracket}{fraction}"


def _pair(say: Speech) -> str:
    return f"{say.side('left')} and {say.side('right')}"


def _ends(say: Speech) -> str:
    return f"{say.words.start} and {say.words.finish}"


def _notes(pattern: ShaftPattern, say: Speech) -> tuple[str, ...]:
    cut = pattern.cut
    low = float(cut.wanted.value) - cut.length
    kept = "foot" if pattern.trim is TrimEnd.TOP else "top"
    how = "Cut the paper out along its outline, fold it at the edges with the print outside and glue the lap."
    if pattern.stock is None:
        use = (
            "The faces are those of the finished shaft, outside: try the shaft in the wrap; where it is built"
            " from sheet, allow for the thickness at two of its corners."
        )
    elif not len(pattern.faces[0].waste):
        use = "Nothing comes off: try the shaft in the wrap."
    else:
        use = (
            "Cut it at the cut line too and leave the hatched part away. Slide it over the shaft, flush with"
            f" its {kept}, and scribe along the paper's edge on all four faces. Saw in the hatched part, then"
            " dress to the line with the shaft upright on a flat plate."
        )
    return (
        f"{how} {use}",
        f"The shaft is cut low on purpose, by {say.plain(low, 2)}: packing under the shoes makes up the"
        " height. Once it is glued it cannot come down. A shaft that is too long is dressed before it is"
        " glued; one that is too short is packed.",
        "Measure with a caliper before gluing: paper marks the line, it does not set the length.",
        *CAUTIONS,
    )
