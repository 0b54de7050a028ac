"""Writes one sheet as SVG 1.1: mm throughout, one group a role, texts as texts.

The drawing is to true size and knows nothing of a printer. What is cut from has one group a role, areas
beneath all lines, so that a machine can take the cut lines alone. A drawing to look at keeps its order, so
that nearer parts hide farther ones.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby

from spanwright.drawings import fonts
from spanwright.drawings.display import STROKES, Circle, Item, Path, Point, Role, Sheet, Text
from spanwright.drawings.draughting import bounds
from spanwright.drawings.frame import Stamp
from spanwright.drawings.layout.outfit import outfitted
from spanwright.drawings.layout.page import checked

_EDGE = 5.0
#: Vera first; the others have its widths or nearly so.
_FACES = "Bitstream Vera Sans, DejaVu Sans, Verdana, sans-serif"


def svg_text(sheet: Sheet, *, stamp: Stamp | None = None) -> str:
    """Write a sheet as SVG.

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
    items = outfitted(checked(sheet), stamp)
    return written(items, title=sheet.title, in_order=not sheet.true)


def written(items: Sequence[Item], *, title: str, in_order: bool) -> str:
    """Write items as SVG, whatever they are of.

    Parameters
    ----------
    items : sequence of Path, Circle or Text
        What is drawn. [mm]
    title : str
        What it shows.
    in_order : bool
        Each item over those before it, so that a white area hides what lies behind; else one group for
        each role, for machines that take a role at a time.

    Returns
    -------
    str
        The file, to be written as UTF-8.
    """
    left, low, right, high = bounds(items)
    view = _View(left=left - _EDGE, top=high + _EDGE)
    wide, tall = _n(right - left + 2.0 * _EDGE), _n(high - low + 2.0 * _EDGE)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{wide}mm" height="{tall}mm"'
        f' viewBox="0 0 {wide} {tall}">',
        f"<title>{_safe(title)}</title>",
    ]
    shapes = [item for item in items if not isinstance(item, Text)]
    if in_order:
        lines += view.layered(shapes)
    else:
        lines += view.areas([item for item in shapes if item.fill is not None])
        for role in Role:
            lines += view.strokes(role, [i for i in shapes if i.role is role and _is_stroked(i)])
    lines += view.texts([item for item in items if isinstance(item, Text) and item.text])
    return "\n".join([*lines, "</svg>", ""])


def _n(value: float) -> str:
    """Say a number to a ten-thousandth of a mm, without needless noughts."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _safe(text: str) -> str:
    return escape(fonts.one_line(text))


def _is_stroked(item: Path | Circle) -> bool:
    return isinstance(item, Circle) or item.stroked


@dataclass(frozen=True, slots=True, kw_only=True)
class _View:
    """Turns places with y up into places with y down, from the upper left corner."""

    left: float
    top: float

    def place(self, p: Point) -> str:
        return f"{_n(p[0] - self.left)} {_n(self.top - p[1])}"

    def shape(self, item: Path | Circle, more: str = "") -> str:
        if isinstance(item, Circle):
            x, y = self.place(item.centre).split()
            return f'<circle cx="{x}" cy="{y}" r="{_n(item.radius)}"{more}/>'
        way = "M" + " L".join(self.place(p) for p in item.points) + (" Z" if item.closed else "")
        return f'<path d="{way}"{more}/>'

    def layered(self, items: Sequence[Path | Circle]) -> list[str]:
        """Draw items one over the other, each with its own area; neighbours of one role share a group."""
        lines: list[str] = []
        for role, run in groupby(items, key=lambda item: item.role):
            lines.append(f'<g data-role="{role.value}" stroke-linejoin="round"{_pen(role)}>')
            for item in run:
                fill = "none" if item.fill is None else _grey(item.fill)
                edge = "" if _is_stroked(item) else ' stroke="none"'
                lines.append(self.shape(item, f' fill="{fill}"{edge}'))
            lines.append("</g>")
        return lines

    def areas(self, items: Sequence[Path | Circle]) -> list[str]:
        if not items:
            return []
        drawn = [self.shape(item, f' fill="{_grey(item.fill or 0.0)}"') for item in items]
        return ['<g id="area" data-role="area" stroke="none">', *drawn, "</g>"]

    def strokes(self, role: Role, items: Sequence[Path | Circle]) -> list[str]:
        if not items:
            return []
        pen = _pen(role)
        head = f'<g id="{role.value}" data-role="{role.value}" fill="none" stroke-linejoin="round"{pen}>'
        return [head, *(self.shape(item) for item in items), "</g>"]

    def texts(self, items: Sequence[Text]) -> list[str]:
        if not items:
            return []
        head = f'<g id="text" data-role="text" font-family="{_FACES}" fill="#000" stroke="none">'
        return [head, *(self.words(item) for item in items), "</g>"]

    def words(self, item: Text) -> str:
        x, y = self.place(item.at).split()
        more = f' text-anchor="{item.anchor}"' if item.anchor != "start" else ""
        if item.bold:
            more += ' font-weight="bold"'
        if item.turn:
            more += f' transform="rotate({_n(-math.degrees(item.turn))} {x} {y})"'
        return f'<text x="{x}" y="{y}" font-size="{_n(item.size)}"{more}>{_safe(item.text)}</text>'


def _pen(role: Role) -> str:
    stroke = STROKES[role]
    dash = f' stroke-dasharray="{" ".join(_n(d) for d in stroke.dash)}"' if stroke.dash else ""
    return f' stroke="#000" stroke-width="{_n(stroke.width)}"{dash}'


def _grey(grey: float) -> str:
    level = round(255.0 * min(max(grey, 0.0), 1.0))
    return f"#{level:02x}{level:02x}{level:02x}"
