"""Writes pages as PDF: exact mm, letters embedded, and a note to the viewer not to scale the print."""

from __future__ import annotations

import math
from collections.abc import Iterable

from reportlab.pdfgen.canvas import Canvas

from spanwright.drawings import fonts
from spanwright.drawings.display import STROKES, Circle, Item, Path, Text
from spanwright.drawings.layout.page import Page
from spanwright.errors import InputError

#: Points of 1/72 in, in a mm.
POINT = 72.0 / 25.4
MAKER = "Spanwright"


def draw(canvas: Canvas, items: Iterable[Item]) -> None:
    """Draw items where the canvas has its origin.

    Parameters
    ----------
    canvas : Canvas
        The page.
    items : iterable of Path, Circle or Text
        What is drawn, in this order. [mm]
    """
    canvas.saveState()
    canvas.setLineCap(0)
    canvas.setLineJoin(1)
    for item in items:
        if isinstance(item, Text):
            _text(canvas, item)
            continue
        stroke = STROKES[item.role]
        canvas.setLineWidth(stroke.width * POINT)
        canvas.setDash([d * POINT for d in stroke.dash])
        if item.fill is not None:
            canvas.setFillGray(item.fill)
        filled = int(item.fill is not None)
        if isinstance(item, Circle):
            x, y = item.centre
            canvas.circle(x * POINT, y * POINT, item.radius * POINT, stroke=1, fill=filled)
        else:
            _path(canvas, item, filled)
    canvas.restoreState()


def _path(canvas: Canvas, item: Path, filled: int) -> None:
    line = canvas.beginPath()
    line.moveTo(item.points[0][0] * POINT, item.points[0][1] * POINT)
    for x, y in item.points[1:]:
        line.lineTo(x * POINT, y * POINT)
    if item.closed:
        line.close()
    canvas.drawPath(line, stroke=int(item.stroked), fill=filled)


def _text(canvas: Canvas, item: Text) -> None:
    words = fonts.spelt(item.text)
    if not words:
        return
    x, y = item.at[0] * POINT, item.at[1] * POINT
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor]
    back *= fonts.width(words, item.size, bold=item.bold) * POINT
    c, s = math.cos(item.turn), math.sin(item.turn)
    text = canvas.beginText()
    text.setFont(fonts.face(bold=item.bold), item.size * POINT)
    text.setFillGray(0.0)
    text.setTextTransform(c, s, -s, c, x - back * c, y - back * s)
    text.textOut(words)
    canvas.drawText(text)


def unscaled(canvas: Canvas) -> None:
    """Ask the viewer to print at 100 %: /PrintScaling /None of ISO 32000-1, table 150.

    Parameters
    ----------
    canvas : Canvas
        The document.
    """
    canvas.setViewerPreference("PrintScaling", "None")


def pdf_bytes(pages: Iterable[Page], *, title: str, subject: str) -> bytes:
    """Write pages as one PDF; the same pages give the same bytes.

    Parameters
    ----------
    pages : iterable of Page
        The pages, one at least.
    title : str
        Title of the document.
    subject : str
        What it is about, such as job and revision.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    InputError
        If there is no page.
    """
    canvas = Canvas(
        "",
        invariant=1,
        pageCompression=1,
        initialFontName=fonts.face(),  # type: ignore[arg-type]  # its stubs want a number
    )
    canvas.setTitle(fonts.one_line(title))
    canvas.setSubject(fonts.one_line(subject))
    canvas.setAuthor(MAKER)
    canvas.setCreator(MAKER)
    unscaled(canvas)
    count = 0
    for count, page in enumerate(pages, 1):
        canvas.setPageSize((page.size[0] * POINT, page.size[1] * POINT))
        canvas.bookmarkPage(f"page{count}")
        canvas.addOutlineEntry(fonts.one_line(page.title), f"page{count}", level=0)
        draw(canvas, page.items)
        canvas.showPage()
    if not count:
        raise InputError("there is no page to write", code="DR003", where=title)
    return bytes(canvas.getpdfdata())  # type: ignore[no-untyped-call]
