"""Sets a book: title and contents, running text, tables, figures, and whole pages between them, as one PDF.

The book is set twice. The first time finds on which page each heading comes to stand; the second has
the numbers in the contents and the count of pages at each foot. Nothing else differs, so the pages are
the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    NextPageTemplate,
    PageTemplate,
    Spacer,
)
from reportlab.platypus import PageBreak as FlowBreak
from reportlab.platypus import Paragraph as FlowParagraph
from reportlab.platypus import Table as FlowTable

from spanwright.drawings import fonts
from spanwright.drawings.display import Item, Path, Role, Text
from spanwright.drawings.frame import SAFETY, Stamp
from spanwright.drawings.layout.blocks import (
    Block,
    Figure,
    Heading,
    Keep,
    PageBreak,
    Paragraph,
    SheetPages,
    Table,
)
from spanwright.drawings.layout.flow import Draft, Title, WholePage, flowing, marked_up, styles
from spanwright.drawings.pdf import MAKER, POINT, draw
from spanwright.drawings.printer import Printer, page_size
from spanwright.errors import InputError

__all__ = [
    "Block",
    "Figure",
    "Heading",
    "Keep",
    "PageBreak",
    "Paragraph",
    "SheetPages",
    "Table",
    "book_bytes",
]

_LEFT, _RIGHT, _TOP, _FOOT = 22.0, 14.0, 22.0, 20.0  # wide at the left, to be punched [mm]
_SMALL = 2.3
_START = 26.0  # title, head and first rows of a table [mm]
Progress = Callable[[int, int], None]


def book_bytes(
    blocks: Iterable[Block],
    *,
    title: str,
    stamp: Stamp,
    printer: Printer,
    progress: Progress | None = None,
) -> bytes:
    """Set a book as PDF; the same blocks give the same bytes.

    Parameters
    ----------
    blocks : iterable of Block
        Its content; one block at least.
    title : str
        Title of the book.
    stamp : Stamp
        What it was made from.
    printer : Printer
        Its paper; its factors for true figures.
    progress : callable or None
        Told how much is done, and of how much.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    InputError
        If there are no blocks, a row of a table has not one cell a column, or a figure does not fit.
    """
    content = tuple(blocks)
    if not content or any(isinstance(b, SheetPages) and not b.pages for b in content):
        raise InputError("there is nothing to put into the book", code="DR003", where=title)
    first = _Setting(title=title, stamp=stamp, printer=printer, content=content)
    _set(first, lambda done, most: progress(done, 2 * most) if progress else None)
    second = _Setting(
        title=title,
        stamp=stamp,
        printer=printer,
        content=content,
        draft=False,
        known=first.found,
        count=first.pages,
    )
    data = _set(second, lambda done, most: progress(most + done, 2 * most) if progress else None)
    if progress:
        progress(1, 1)
    return data


@dataclass(slots=True, kw_only=True)
class _Setting:
    """One time of setting: what goes in, and what is learnt on the way."""

    title: str
    stamp: Stamp
    printer: Printer
    content: tuple[Block, ...]
    draft: bool = True
    known: dict[str, int] = field(default_factory=dict)
    count: int = 0
    found: dict[str, int] = field(default_factory=dict)
    pages: int = 0

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of an upright page, in mm."""
        return page_size(self.printer, upright=True)

    @property
    def room(self) -> tuple[float, float]:
        """Width and height of a page's text, in mm."""
        return self.size[0] - _LEFT - _RIGHT, self.size[1] - _TOP - _FOOT

    def seen(self, key: str, page: int) -> None:
        """Note on which page a heading stands."""
        self.found[key] = page


class _File:
    """Takes the bytes of a file."""

    def __init__(self) -> None:
        self.data = b""

    def write(self, data: bytes) -> int:
        """Take some bytes."""
        self.data += data
        return len(data)


class _Document(BaseDocTemplate):
    """Tells how far it is."""

    told: Progress
    length = 1

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: ARG002, N802  the library's name
        """Count what has been set."""
        self.done = min(getattr(self, "done", 0) + 1, self.length)
        self.told(self.done, self.length)


def _set(setting: _Setting, told: Progress) -> bytes:
    file = _File()
    document = _Document(
        file,  # type: ignore[arg-type]  # it only writes
        pagesize=tuple(v * POINT for v in setting.size),
        title=fonts.one_line(setting.title),
        subject=fonts.one_line(f"{setting.stamp.job}, revision {setting.stamp.revision}"),
        author=MAKER,
        creator=MAKER,
        producer=MAKER,
        invariant=1,
        pageCompression=1,
        initialFontName=fonts.face(),
        printScaling="None",
        pageTemplates=_templates(setting),
    )
    story = _story(setting)
    document.told, document.length = told, len(story)
    document.build(story, canvasmaker=Draft if setting.draft else Canvas)
    return file.data


def _templates(setting: _Setting) -> list[PageTemplate]:
    wide, high = setting.room
    text = Frame(
        _LEFT * POINT,
        _FOOT * POINT,
        wide * POINT,
        high * POINT,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )

    def furnish(canvas: Canvas, _: BaseDocTemplate) -> None:
        setting.pages = canvas.getPageNumber()
        draw(canvas, _running(setting, setting.pages))

    found = [PageTemplate("text", [text], onPage=furnish, pagesize=_points(setting.size))]
    return found + [_sheet_template(setting, size) for size in _sizes(setting)]


def _sheet_template(setting: _Setting, size: tuple[float, float]) -> PageTemplate:
    """Return the template of whole pages: only the page's number in the book is added, in the margin."""

    def number(canvas: Canvas, _: BaseDocTemplate) -> None:
        at = (size[0] - 10.0, 6.5)
        setting.pages = canvas.getPageNumber()
        words = _number(setting, setting.pages)
        draw(canvas, [Text(at=at, text=f"book, {words}", size=2.0, anchor="end")])

    frame = Frame(0, 0, size[0] * POINT, size[1] * POINT)
    return PageTemplate(_name(size), [frame], onPage=number, pagesize=_points(size))


def _points(size: tuple[float, float]) -> tuple[float, float]:
    return size[0] * POINT, size[1] * POINT


def _name(size: tuple[float, float]) -> str:
    return f"sheet {size[0]:g} {size[1]:g}"


def _sizes(setting: _Setting) -> list[tuple[float, float]]:
    every = (page.size for b in setting.content if isinstance(b, SheetPages) for page in b.pages)
    return sorted(set(every))


def _number(setting: _Setting, page: int) -> str:
    return f"page {page} of {setting.count or page}"


def _running(setting: _Setting, page: int) -> list[Item]:
    """Return head and foot of a page of text."""
    left, right = _LEFT, setting.size[0] - _RIGHT
    top, foot = setting.size[1] - _TOP + 6.0, _FOOT - 6.0
    half = 0.48 * (right - left)
    stamp = setting.stamp
    found: list[Item] = [
        Path(points=((left, y), (right, y)), role=Role.FINE) for y in (top - 1.6, foot + 3.0)
    ]
    made = _short(f"revision {stamp.revision}, made from {stamp.made_from}", right - left - 26.0)
    found += [
        Text(at=(left, top), text=_short(stamp.job, half), size=_SMALL),
        Text(at=(right, top), text=_short(setting.title, half), size=_SMALL, anchor="end"),
        Text(at=(left, foot), text=made, size=_SMALL),
        Text(at=(right, foot), text=_number(setting, page), size=_SMALL, anchor="end"),
        Text(at=(left, foot - 3.6), text=SAFETY, size=_SMALL, bold=True),
    ]
    return found


def _short(text: str, most: float) -> str:
    """Return as much of a text as fits; the first page of the book has all of it."""
    words = fonts.spelt(text)
    if fonts.width(words, _SMALL) <= most:
        return words
    while words and fonts.width(words + " ...", _SMALL) > most:
        words = words[:-1]
    return words.rstrip() + " ..."


# ---------------------------------------------------------------- the run of pages


def _entries(content: Sequence[Block]) -> list[tuple[int, str]]:
    """Return what stands in the contents: level and words, in order."""
    found: list[tuple[int, str]] = []
    for block in content:
        if isinstance(block, Keep):
            found += _entries(block.blocks)
        elif isinstance(block, Heading):
            found.append((block.level, block.text))
        elif isinstance(block, SheetPages) and block.title:
            found.append((2, block.title))
    return found


def _story(setting: _Setting) -> list[Flowable]:
    """Return all pieces. A break is made before what needs it, so that no page stays empty."""
    kinds = styles()
    keys = iter(f"to{k}" for k in range(len(_entries(setting.content))))

    def title(block: Heading) -> Flowable:
        return Title(block, kinds[f"title {block.level}"], next(keys), setting.seen)

    story: list[Flowable] = [*_front(setting, kinds)]
    heads: list[Flowable] = []  # headings that wait for what they stand over
    fresh = True
    for block in setting.content:
        if isinstance(block, PageBreak):
            story, heads, fresh = [*story, *heads], [], True
        elif isinstance(block, SheetPages):
            key = next(keys) if block.title else ""
            story, heads, fresh = [*story, *heads], [], True
            for k, page in enumerate(block.pages):
                story += [NextPageTemplate(_name(page.size)), FlowBreak()]
                story.append(WholePage(page, key if k == 0 else "", setting.seen))
        else:
            if fresh:
                story += [NextPageTemplate("text"), FlowBreak()]
                fresh = False
            parts = flowing(block, kinds=kinds, printer=setting.printer, room=setting.room, title=title)
            if isinstance(block, Heading):
                heads += parts
                continue
            story += _under(heads, parts, runs_on=isinstance(block, Table))
            heads = []
    return [*story, *heads]


def _under(heads: list[Flowable], parts: Sequence[Flowable], *, runs_on: bool) -> list[Flowable]:
    """Set headings over what follows: all of it, or the beginning of what runs on over pages."""
    if runs_on:
        return [CondPageBreak((_START + 9.0 * len(heads)) * POINT), *heads, *parts]
    return [KeepTogether([*heads, parts[0]]), *parts[1:]] if heads else list(parts)


def _front(setting: _Setting, kinds: Mapping[str, ParagraphStyle]) -> list[Flowable]:
    """Return title, stamp and contents."""
    stamp = setting.stamp
    found: list[Flowable] = [
        Spacer(1.0, 20.0),
        FlowParagraph(marked_up(setting.title), kinds["title 0"]),
        FlowParagraph(marked_up(stamp.job), kinds["title 2"]),
        FlowParagraph(marked_up(f"revision {stamp.revision}, made from {stamp.made_from}"), kinds["plain"]),
        FlowParagraph(marked_up(SAFETY), kinds["plain"]),
        Spacer(1.0, 14.0),
    ]
    rows = []
    looks: list[tuple[Any, ...]] = [
        ("FONTNAME", (0, 0), (-1, -1), fonts.face()),
        ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
        ("TOPPADDING", (0, 0), (-1, -1), 1.0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.0),
        ("LEFTPADDING", (0, 0), (0, -1), 0.0),
        ("RIGHTPADDING", (1, 0), (1, -1), 0.0),
    ]
    for k, (level, words) in enumerate(_entries(setting.content)):
        if level > 2:
            continue
        page = setting.known.get(f"to{k}", 0)
        text = marked_up("", words) if level == 1 else marked_up(words)
        link = f'<a href="#to{k}">{text}</a>' if page else text
        rows.append(
            [
                FlowParagraph(link, kinds[f"contents {level}"]),
                FlowParagraph(str(page), kinds["number"]),
            ]
        )
        looks.append(("LINEBELOW", (0, len(rows) - 1), (-1, len(rows) - 1), 0.13 * POINT, "#888888"))
    if rows:
        found.append(FlowParagraph("Contents", kinds["title 2"]))
        widths = [(setting.room[0] - 18.0) * POINT, 18.0 * POINT]
        found.append(FlowTable(rows, colWidths=widths, hAlign="LEFT", style=looks))
    return found
