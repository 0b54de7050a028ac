"""Writes one sheet as DXF R2010 in mm: one layer a role, closed outlines as one line each.

Areas are hatches on a layer of their own, which can be switched off before a machine cuts.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from spanwright.drawings import fonts
from spanwright.drawings.display import STROKES, Circle, Item, Path, Role, Sheet, Text
from spanwright.drawings.frame import Stamp
from spanwright.drawings.layout.outfit import outfitted
from spanwright.drawings.layout.page import checked

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts.layout import Modelspace

#: Height of the capitals of the face over its font size. [1]
CAPITALS = 0.73
#: $INSUNITS of the DXF reference: 4 is mm.
_MM = 4


class _Pieces:
    """Takes a file in pieces."""

    def __init__(self) -> None:
        self.pieces: list[str] = []

    def write(self, text: str) -> int:
        """Take one piece."""
        self.pieces.append(text)
        return len(text)


def dxf_text(sheet: Sheet, *, stamp: Stamp | None = None) -> str:
    """Write a sheet as DXF; the same sheet gives the same text.

    Parameters
    ----------
    sheet : Sheet
        What is drawn. A true one gets a bar of 100 mm in x and in y.
    stamp : Stamp or None
        What it was made from, said beneath it.

    Returns
    -------
    str
        The file, to be written as UTF-8.

    Raises
    ------
    InputError
        If the sheet is empty or a number in it is not finite.
    """
    import ezdxf.filemanagement  # half a second, and few runs write DXF

    items = outfitted(checked(sheet), stamp)
    options = ezdxf.options  # type: ignore[attr-defined]  # public, though not named in __all__
    fixed = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # else the time and a chance number go in
    try:
        drawing = ezdxf.filemanagement.new("R2010", units=_MM)
        drawing.header["$MEASUREMENT"] = 1
        drawing.header["$LTSCALE"] = 1.0
        _layers(drawing)
        space = drawing.modelspace()
        for item in items:
            _add(space, item)
        for name in sorted(drawing.entitydb.dxf_types_in_use()):  # a set: its order is another in each run
            drawing.classes.add_class(name)
        file = _Pieces()
        drawing.write(file)  # type: ignore[arg-type]
    finally:
        options.write_fixed_meta_data_for_testing = fixed
    return "".join(file.pieces)


def _layers(drawing: Drawing) -> None:
    for role in Role:
        stroke = STROKES[role]
        line_type = "Continuous"
        if stroke.dash:
            line_type = role.value.upper()
            lengths = [d if k % 2 == 0 else -d for k, d in enumerate(stroke.dash)]
            drawing.linetypes.add(line_type, pattern=[sum(stroke.dash), *lengths], description=stroke.meaning)
        drawing.layers.add(
            role.value.upper(), color=7, linetype=line_type, lineweight=round(100.0 * stroke.width)
        )
    drawing.layers.add("AREA", color=8)
    drawing.layers.add("TEXT", color=7)


def _add(space: Modelspace, item: Item) -> None:
    if isinstance(item, Text):
        _words(space, item)
        return
    layer = {"layer": item.role.value.upper()}
    if item.fill is not None:
        _area(space, item)
    if isinstance(item, Circle):
        space.add_circle(item.centre, item.radius, dxfattribs=layer)
    elif item.stroked:
        space.add_lwpolyline(item.points, close=item.closed, dxfattribs=layer)


def _area(space: Modelspace, item: Path | Circle) -> None:
    level = round(255.0 * min(max(item.fill or 0.0, 0.0), 1.0))
    hatch = space.add_hatch(dxfattribs={"layer": "AREA"})
    hatch.rgb = (level, level, level)
    if isinstance(item, Circle):
        hatch.paths.add_edge_path().add_arc(item.centre, item.radius, 0.0, 360.0)
    else:
        hatch.paths.add_polyline_path(item.points, is_closed=True)


def _words(space: Modelspace, item: Text) -> None:
    from ezdxf.enums import TextEntityAlignment

    words = fonts.one_line(item.text)
    if not words:
        return
    place = {
        "start": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "end": TextEntityAlignment.RIGHT,
    }[item.anchor]
    text = space.add_text(
        words,
        height=CAPITALS * item.size,
        rotation=math.degrees(item.turn),
        dxfattribs={"layer": "TEXT"},
    )
    text.set_placement(item.at, align=place)
