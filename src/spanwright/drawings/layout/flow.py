"""Sets blocks as the PDF library's flowing pieces: paragraphs, tables, figures, whole pages.

The look is that of an engineer's drawing: black on white, weight before colour. The one colour is a
dark red rule beside what needs attention, and the rule tells as much in black and white.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from html import escape
from typing import Any

from reportlab.lib.colors import Color, black
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, KeepTogether, Spacer
from reportlab.platypus import Paragraph as FlowParagraph
from reportlab.platypus import Table as FlowTable

from spanwright.drawings import fonts
from spanwright.drawings.display import Item, Sheet, Text
from spanwright.drawings.draughting import bounds
from spanwright.drawings.frame import scale_words
from spanwright.drawings.layout.blocks import Block, Figure, Heading, Keep, Paragraph, Table
from spanwright.drawings.layout.outfit import outfitted
from spanwright.drawings.layout.page import Page, centred, checked, crowded, fitting, stretched
from spanwright.drawings.pdf import POINT, draw
from spanwright.drawings.printer import Printer, page_factors
from spanwright.errors import InputError

ATTENTION = Color(0.55, 0.05, 0.05)
_GREY = Color(0.55, 0.55, 0.55)
_CELL = 8.0  # points
_TALL = 500.0  # points; a row that is taller may be parted over pages
_SIDE = 1.6  # left and right of a cell [mm]
_CAPTION = 2.6  # size of the words beneath a figure [mm]
_PITCH = 1.36 * _CAPTION
_WHOLE = 16  # a cell of so few signs is better not broken
_MOST_LEAST = 0.3  # of the width of the text: a longer word is broken


class _Style(ParagraphStyle):
    """A style with a rule beside its paragraphs."""

    rule: Color | None = None


def _style(name: str, size: float, **more: Any) -> _Style:
    return _Style(
        name, fontName=fonts.face(), bulletFontName=fonts.face(), fontSize=size, leading=1.36 * size, **more
    )


def styles() -> dict[str, _Style]:
    """Return the styles of paragraphs; the faces are registered.

    Returns
    -------
    dict
        By name.
    """
    plain, bold = fonts.face(), fonts.face(bold=True)
    pdfmetrics.registerFontFamily(plain, normal=plain, bold=bold, italic=plain, boldItalic=bold)
    made = [
        _style("plain", 9.0, spaceAfter=3.5),
        _style("caution", 9.0, spaceAfter=3.0, spaceBefore=1.0, leftIndent=9.0),
        _style("note", 9.0, spaceAfter=6.0, spaceBefore=2.0, leftIndent=9.0),
        _style("small", 7.5, spaceAfter=4.0),
        _style("title 0", 22.0, spaceAfter=10.0),
        _style("title 1", 14.0, spaceBefore=14.0, spaceAfter=8.0),
        _style("title 2", 11.0, spaceBefore=10.0, spaceAfter=5.0),
        _style("title 3", 10.0, spaceBefore=8.0, spaceAfter=3.0),
        _style("title 4", 9.0, spaceBefore=7.0, spaceAfter=2.0),
        _style("contents 1", 9.0),
        _style("contents 2", 9.0, leftIndent=12.0),
        _style("number", 9.0, alignment=2),
        _style("cell l", _CELL, alignment=0),
        _style("cell c", _CELL, alignment=1),
        _style("cell r", _CELL, alignment=2),
    ]
    found = {style.name: style for style in made}
    found["caution"].rule, found["note"].rule = ATTENTION, _GREY
    for name in ("title 0", "title 1", "title 2", "title 3", "title 4"):
        found[name].fontName = bold
    return found


def marked_up(text: str, lead: str = "") -> str:
    """Return a text as the paragraphs of the PDF library want it: nothing in it is taken for a tag.

    Parameters
    ----------
    text : str
        Any text.
    lead : str
        Words in bold before it.

    Returns
    -------
    str
        Escaped, in signs that the face has.
    """
    body = "<br/>".join(escape(fonts.spelt(line)) for line in text.split("\n"))
    return f"<b>{escape(fonts.spelt(lead))}</b> {body}" if lead else body


class Draft(Canvas):
    """A canvas on which only the places of things matter: nothing large is drawn."""


class RuledParagraph(FlowParagraph):
    """A paragraph with a rule at its left, if its style has one."""

    def draw(self) -> None:
        """Draw the rule, then the words."""
        rule = getattr(self.style, "rule", None)
        if rule is not None:
            self.canv.saveState()
            self.canv.setStrokeColor(rule)
            self.canv.setLineWidth(2.4)
            self.canv.line(2.0, 0.0, 2.0, self.height)
            self.canv.restoreState()
        super().draw()


class Title(FlowParagraph):
    """A heading that says on which page it came to stand.

    Parameters
    ----------
    block : Heading
        The heading.
    style : ParagraphStyle
        Its style.
    key : str
        Name to link to.
    seen : callable
        Takes the key and the page.
    """

    def __init__(
        self, block: Heading, style: ParagraphStyle, key: str, seen: Callable[[str, int], None]
    ) -> None:
        super().__init__(marked_up(block.text), style)
        self.block, self.key, self.seen = block, key, seen

    def split(self, availWidth: float, availHeight: float) -> list[Flowable]:  # noqa: ARG002  the library's names
        """Return nothing: a heading is never parted."""
        return []

    def draw(self) -> None:
        """Draw the words, and for the first level a rule beneath."""
        super().draw()
        self.seen(self.key, self.canv.getPageNumber())
        self.canv.bookmarkHorizontal(self.key, 0, self.height + 6.0)
        if self.block.level <= 2:
            words = fonts.one_line(self.block.text)
            self.canv.addOutlineEntry(words, self.key, level=0, closed=1)
        if self.block.level == 1:
            self.canv.saveState()
            self.canv.setLineWidth(0.35 * POINT)
            self.canv.line(0.0, -3.0, self.width, -3.0)
            self.canv.restoreState()


class Drawing(Flowable):
    """Items drawn into the text.

    Parameters
    ----------
    items : tuple of Path, Circle or Text
        With their lower left corner at the origin. [mm]
    size : (float, float)
        Width and height. [mm]
    """

    def __init__(self, items: tuple[Item, ...], size: tuple[float, float]) -> None:
        super().__init__()
        self.items, self.size = items, size
        self.spaceBefore, self.spaceAfter = 4.0, 8.0

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:  # noqa: ARG002  as above
        """Return the room it needs, in points."""
        return self.size[0] * POINT, self.size[1] * POINT

    def draw(self) -> None:
        """Draw the items."""
        if not isinstance(self.canv, Draft):
            draw(self.canv, self.items)


class WholePage(Flowable):
    """A page made elsewhere, drawn from the corner of the paper.

    Parameters
    ----------
    page : Page
        The page.
    key : str
        Name to link to; empty for none.
    seen : callable
        Takes the key and the page.
    """

    def __init__(self, page: Page, key: str, seen: Callable[[str, int], None]) -> None:
        super().__init__()
        self.page, self.key, self.seen = page, key, seen

    def wrap(self, availWidth: float, availHeight: float) -> tuple[float, float]:  # noqa: ARG002  as above
        """Return next to nothing: the frame it stands in is the page itself."""
        return 1.0, 1.0

    def draw(self) -> None:
        """Draw the page."""
        x, y = self.canv.absolutePosition(0.0, 0.0)
        self.canv.saveState()
        self.canv.translate(-x, -y)
        if self.key:
            self.seen(self.key, self.canv.getPageNumber())
            self.canv.bookmarkPage(self.key)
            self.canv.addOutlineEntry(fonts.one_line(self.page.title), self.key, level=0, closed=1)
        if not isinstance(self.canv, Draft):
            draw(self.canv, self.page.items)
        self.canv.restoreState()


# ---------------------------------------------------------------- tables


def column_widths(table: Table, wide: float) -> list[float]:
    """Return how wide the columns of a table are set.

    Parameters
    ----------
    table : Table
        The table.
    wide : float
        Width of the text. [mm]

    Returns
    -------
    list of float
        As wide as the words want if there is room; else the widest columns give way first, but none
        below its longest word while the words fit at all. [mm]
    """
    if table.widths:
        share = min(1.0, wide / sum(table.widths))
        return [w * share for w in table.widths]
    size = _CELL / POINT
    want, least = [], []
    for k, head in enumerate(table.columns):
        lines = [line for row in table.rows for line in row[k].split("\n")]
        heads = [fonts.width(word, size, bold=True) for word in head.split()]
        words = {w for line in lines for w in ([line] if len(line) <= _WHOLE else line.split())}
        want.append(
            max([fonts.width(head, size, bold=True), *(fonts.width(t, size) for t in set(lines))]) + 2 * _SIDE
        )
        least.append(max([4.0, *heads, *(fonts.width(word, size) for word in words)]) + 2 * _SIDE)
    want = [w + 0.3 for w in want]  # so that rounding breaks no line
    least = [min(v + 0.3, w, _MOST_LEAST * wide) for v, w in zip(least, want, strict=True)]
    if sum(want) <= wide:
        return want
    if sum(least) >= wide:
        return [v * wide / sum(least) for v in least]
    low, high = 0.0, max(want)
    for _ in range(50):
        most = 0.5 * (low + high)
        total = sum(max(v, min(w, most)) for v, w in zip(least, want, strict=True))
        low, high = (most, high) if total <= wide else (low, most)
    return [max(v, min(w, low)) for v, w in zip(least, want, strict=True)]


def _table(block: Table, wide: float, kinds: dict[str, _Style]) -> Iterator[Flowable]:
    for row in block.rows:
        if len(row) != len(block.columns):
            raise InputError(
                "a row of a table has not one cell a column",
                code="DR007",
                where=block.title,
                value=row,
                limit=len(block.columns),
            )
    letters = [block.align[min(k, len(block.align) - 1)] for k in range(len(block.columns))]
    head = [
        FlowParagraph(marked_up("", head) if head else "", kinds[f"cell {a}"])
        for head, a in zip(block.columns, letters, strict=True)
    ]
    body = [
        [FlowParagraph(marked_up(cell), kinds[f"cell {a}"]) for cell, a in zip(row, letters, strict=True)]
        for row in block.rows
    ]
    looks: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("LINEABOVE", (0, 0), (-1, 0), 0.35 * POINT, black),
        ("LINEBELOW", (0, 0), (-1, 0), 0.25 * POINT, black),
        ("LINEBELOW", (0, 1), (-1, -1), 0.13 * POINT, _GREY),
        ("LEFTPADDING", (0, 0), (-1, -1), _SIDE * POINT),
        ("RIGHTPADDING", (0, 0), (-1, -1), _SIDE * POINT),
        ("TOPPADDING", (0, 0), (-1, -1), 1.6),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.6),
        ("FONTNAME", (0, 0), (-1, -1), fonts.face()),
    ]
    looks += [("LINEBEFORE", (0, k + 1), (0, k + 1), 2.4, ATTENTION) for k in block.marked]
    widths = [w * POINT for w in column_widths(block, wide)]
    tallest = max(
        (
            cell.wrap(w - 2.0 * _SIDE * POINT, 1e6)[1]
            for row in body
            for cell, w in zip(row, widths, strict=True)
        ),
        default=0.0,
    )
    made = FlowTable(
        [head, *body],
        colWidths=widths,
        repeatRows=1,
        splitInRow=int(tallest > _TALL),  # else no row is parted
        hAlign="LEFT",
        spaceAfter=9.0,
        spaceBefore=2.0,
        style=looks,
    )
    if block.title:
        style = kinds["title 3"]
        yield FlowParagraph(marked_up("", block.title), style)
    yield made


# ---------------------------------------------------------------- figures


def figure(block: Figure, printer: Printer, wide: float, high: float) -> Drawing:
    """Return a sheet as a figure.

    Parameters
    ----------
    block : Figure
        The sheet.
    printer : Printer
        Its factors go into a true sheet.
    wide : float
        Width of the text. [mm]
    high : float
        Height of a page's text. [mm]

    Returns
    -------
    Drawing
        With title, scale and notes beneath.

    Raises
    ------
    InputError
        If a true sheet is larger than the text of a page.
    """
    sheet = checked(block.sheet)
    if sheet.true:
        items = stretched(outfitted(sheet), page_factors(printer, upright=True), (0.0, 0.0))
        left, low, right, top = bounds(items)
        if right - left > wide or top - low > high:
            raise InputError(
                "a true sheet does not fit into the text",
                code="DR008",
                where=sheet.id,
                value=f"{right - left:.0f} by {top - low:.0f} mm",
                limit=f"{wide:.0f} by {high:.0f} mm",
                hint="Give it pages of its own",
            )
        drawn = stretched(items, (1.0, 1.0), (-left, -low))
        return Drawing(drawn, (right - left, top - low))
    foot = _PITCH * (len(_captions(sheet, "scale 1:1000", wide)) + 0.7)
    factor = fitting(sheet, (0.0, 0.0, wide, high - foot - 2.0))
    if factor == 0.0:
        raise crowded(sheet)
    left, low, right, top = bounds(centred(sheet.items, factor, (0.0, 0.0, wide, high))[0])
    tall = top - low
    drawn, _ = centred(sheet.items, factor, (0.0, foot, wide, foot + tall))
    y = foot - 0.7 * _PITCH
    captions: list[Item] = []
    for text, bold in _captions(sheet, scale_words(sheet.scale * factor), wide):
        y -= _PITCH
        captions.append(Text(at=(0.0, y + 0.3 * _CAPTION), text=text, size=_CAPTION, bold=bold))
    return Drawing((*drawn, *captions), (wide, foot + tall))


def _captions(sheet: Sheet, scale: str, wide: float) -> list[tuple[str, bool]]:
    """Return the lines beneath a figure and which of them are bold."""
    words = [(f"{sheet.title}, {scale}", True), *((note, False) for note in sheet.notes)]
    return [(line, bold) for text, bold in words for line in fonts.wrapped(text, _CAPTION, wide, bold=bold)]


# ---------------------------------------------------------------- all blocks that flow


def flowing(
    block: Block,
    *,
    kinds: dict[str, _Style],
    printer: Printer,
    room: tuple[float, float],
    title: Callable[[Heading], Flowable],
) -> Sequence[Flowable]:
    """Return the flowing pieces of a block that is neither a whole page nor a break.

    Parameters
    ----------
    block : Heading, Paragraph, Table, Figure or Keep
        The block.
    kinds : dict
        Styles by name.
    printer : Printer
        For true figures.
    room : (float, float)
        Width and height of a page's text. [mm]
    title : callable
        Sets a heading.

    Returns
    -------
    sequence of Flowable
        In order.
    """
    if isinstance(block, Heading):
        return [title(block)]
    if isinstance(block, Paragraph):
        lead = block.lead or ("Caution:" if block.style == "caution" else "")
        return [RuledParagraph(marked_up(block.text, lead), kinds[block.style])]
    if isinstance(block, Table):
        return list(_table(block, room[0], kinds))
    if isinstance(block, Figure):
        return [figure(block, printer, *room)]
    if isinstance(block, Keep):
        parts: list[Flowable] = []
        for inner in block.blocks:
            parts += flowing(inner, kinds=kinds, printer=printer, room=room, title=title)
        return [KeepTogether(parts), Spacer(1.0, 0.1)]
    raise InputError("this block does not flow", code="DR007", value=type(block).__name__)
