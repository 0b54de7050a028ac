"""The build book: verdicts, what to measure next, heights, drawings, parts, steps, sheets to fill in.

Texts are the same as on the terminal (``*_text``); here they become blocks that are set as pages.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from spanwright.advice.given import Advice
from spanwright.book import blocks as told
from spanwright.book.advising.next_text import advice_text, next_lines
from spanwright.book.build_text import as_built_text, build_text
from spanwright.book.building.answer_text import readings_text
from spanwright.book.building.packing_text import packing_text
from spanwright.book.check_text import legend, missing
from spanwright.book.clearance_text import answer, by_part_text, not_clear_text
from spanwright.book.making import Making, gaps_under, stamp_of
from spanwright.book.notes_text import findings_text
from spanwright.book.parts_text import parts_text
from spanwright.book.structures_text import cuts_text, heights_text
from spanwright.book.survey_text import suspects_text
from spanwright.book.trains.chance_text import chance_text
from spanwright.book.trains.trials_text import trials_text
from spanwright.book.words import speech
from spanwright.book.working.plan_text import plan_text
from spanwright.drawings.calibration import calibration
from spanwright.drawings.display import Sheet
from spanwright.drawings.document import book_bytes
from spanwright.drawings.dxf import dxf_text
from spanwright.drawings.frame import Stamp
from spanwright.drawings.layout import blocks as page
from spanwright.drawings.layout.page import Page
from spanwright.drawings.pdf import pdf_bytes
from spanwright.drawings.printer import Printer
from spanwright.drawings.speech import Speech
from spanwright.drawings.svg import svg_text
from spanwright.drawings.tiles import pages
from spanwright.drawn.stage import Trials
from spanwright.job import Plan

_CAUTION = "CAUTION: "
_WORST = ("FOUL: ", "NOT PROVEN: ", "TIGHT: ")
_PART = 3  # level of a section's headings on the page; what is below is a part
_DEEP = 6  # blanks: what is told of something told before
#: Sections that follow on the page of the one before.
_FOLLOWING = frozenset({"What to measure next", "Measured as built"})
_MARKED = frozenset({"foul", "not proven"})
_HOW_TO_PRINT = (
    "Print at 100 %, never fitted to the page. Print the calibration sheet first, measure its two bars, and"
    " write what you measured into the job file; sheets that are printed after that take your printer's own"
    " error out. Measure the bars of every sheet before you cut from it: both must be 100 mm, and the"
    " distance from cross to cross must be what stands beside it."
)

Tell = Callable[[int, int], None]


def book_files(
    plan: Plan,
    making: Making,
    advices: tuple[Advice, ...],
    tell: Tell | None = None,
    *,
    trials: Trials | None = None,
) -> dict[str, bytes]:
    """Return every file of the book: the book itself, each pattern as PDF, SVG and DXF, tables as CSV.

    Parameters
    ----------
    plan : Plan
        The plan.
    making : Making
        What was made from it.
    advices : tuple of Advice
        What to measure next.
    tell : callable, optional
        Told how much is done, and of how much.
    trials : Trials, optional
        Whole plans with drawn inputs.

    Returns
    -------
    dict of str to bytes
        By name, with ``/`` between folders. The same plan gives the same bytes.
    """
    stamp, printer = stamp_of(plan), plan.job.printer
    total = len(making.titles) + 1
    files: dict[str, bytes] = {}
    every = (*making.patterns, *making.arrangement)
    laid = {sheet.id: pages(sheet, printer=printer, stamp=stamp) for sheet in every}
    content = _Content(plan, making, advices, laid, trials)
    subject = f"{stamp.job}, revision {stamp.revision}"
    sheet = calibration(printer)
    files["calibration.pdf"] = pdf_bytes(
        pages(sheet, printer=printer.uncorrected, stamp=stamp), title=sheet.title, subject=subject
    )
    for number, sheet in enumerate(every, start=1):
        name = file_name(sheet, content.say)
        files[f"{name}.pdf"] = pdf_bytes(laid[sheet.id], title=sheet.title, subject=subject)
        files[f"{name}.svg"] = svg_text(sheet, stamp=stamp).encode("utf-8")
        files[f"{name}.dxf"] = dxf_text(sheet, stamp=stamp).encode("utf-8")
        if tell:
            tell(number, total)
    files["book.pdf"] = book_bytes(content.blocks(), title="Build book", stamp=stamp, printer=printer)
    if tell:
        tell(total - 1, total)
    files |= {f"tables/{name}.csv": text.encode("utf-8") for name, text in content.tables()}
    if tell:
        tell(total, total)
    return files


def file_name(sheet: Sheet, say: Speech) -> str:
    """Return the name of a sheet's files, without their ending.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    say : Speech
        How places are said.

    Returns
    -------
    str
        Its id in the builder's words, with what no file system minds, in the folder ``patterns``, or
        ``drawings`` for what is not drawn at full size.
    """
    folder = "patterns" if sheet.true else "drawings"
    name = "".join(c if c.isalnum() or c in "-_." else " " for c in say.place(sheet.id))
    return f"{folder}/{' '.join(name.split())}"


class _Content:
    """The book's sections, each a list of what is told."""

    def __init__(
        self,
        plan: Plan,
        making: Making,
        advices: tuple[Advice, ...],
        laid: dict[str, tuple[Page, ...]],
        trials: Trials | None,
    ) -> None:
        self.plan, self.making, self.advices, self.laid = plan, making, advices, laid
        self.trials = trials
        self.say = speech(plan)
        self.sections = list(self._told())

    def _told(self) -> Iterator[tuple[str, list[told.Block]]]:
        plan, say, making = self.plan, self.say, self.making
        yield (
            "Is it clear?",
            [
                *answer(plan),
                *missing(plan),
                *legend(say),
                *suspects_text(plan, say),
                *not_clear_text(plan, say, next_lines(plan, self.advices, say)),
                *by_part_text(plan, say),
                *chance_text(plan, say),
                *trials_text(plan, self.trials, say),
                *findings_text(plan.findings + making.findings, say),
            ],
        )
        yield "What to measure next", advice_text(plan, self.advices, say)[1:]
        yield "Measured as built", readings_text(plan.choices.taught, say)[1:]
        if plan.structures is not None:
            heights = [*heights_text(plan.structures, say), *cuts_text(plan, plan.structures, say)]
            yield "Heights and cut sizes", heights
        yield "Parts", parts_text(making.parts, say)
        if plan.job.packing is not None and making.packing is not None:
            packing = packing_text(making.packing, plan.job.packing, say, gaps_under(plan, making.packing))
            yield "Packing", [*packing, *findings_text(making.packing.findings, say)]
        steps = build_text(making.build, making.titles, say)
        yield "Steps", [*steps, *plan_text(making.build, say)]
        yield "As-built sheets", as_built_text(making.build, say)

    def blocks(self) -> Iterator[page.Block]:
        """Return the book's blocks; drawings stand between heights and parts."""
        for title, content in self.sections:
            if title == "Parts":
                yield from self._drawings()
            if not content:
                continue
            if title not in _FOLLOWING:
                yield page.PageBreak()
            yield page.Heading(level=1, text=title)
            yield from _kept(_as_pages(content))

    def _drawings(self) -> Iterator[page.Block]:
        yield page.PageBreak()
        yield page.Heading(level=1, text="Drawings and patterns")
        yield page.Paragraph(text=_HOW_TO_PRINT, style="note")
        yield from _as_pages(_sheet_table(self.making.patterns, self.laid, self.say))
        for sheet in self.making.arrangement:
            yield page.SheetPages(pages=self.laid[sheet.id], title=sheet.title)

    def tables(self) -> Iterator[tuple[str, str]]:
        """Return every table as CSV, named by its section and number."""
        for title, content in self.sections:
            heading = title
            counted: dict[str, int] = {}
            for block in content:
                if isinstance(block, told.Heading):
                    heading = f"{title}, {block.title}"
                if isinstance(block, told.Table):
                    counted[heading] = counted.get(heading, 0) + 1
                    more = f" {counted[heading]}" if counted[heading] > 1 else ""
                    yield _plain_name(f"{heading}{more}"), csv_text(block)


def drawings_text(making: Making, printer: Printer, stamp: Stamp, say: Speech) -> list[told.Block]:
    """Return the list of all sheets: what is drawn, at what scale, on how many pages.

    Parameters
    ----------
    making : Making
        What was made from a plan.
    printer : Printer
        Its paper.
    stamp : Stamp
        What the sheets were made from.
    say : Speech
        How places are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines: list[told.Block] = [
        f"{len(making.patterns)} patterns and gauges, {len(making.arrangement)} drawings."
    ]
    lines += told.paragraph(_HOW_TO_PRINT)
    every = (*making.patterns, *making.arrangement)
    laid = {sheet.id: pages(sheet, printer=printer, stamp=stamp) for sheet in every}
    lines += told.heading("Patterns and gauges")
    lines += _sheet_table(making.patterns, laid, say)
    lines += told.heading("Drawings")
    return lines + _sheet_table(making.arrangement, laid, say)


def _sheet_table(
    sheets: tuple[Sheet, ...], laid: dict[str, tuple[Page, ...]], say: Speech
) -> list[told.Block]:
    rows = []
    for sheet in sheets:
        found = laid[sheet.id]
        size = "full size" if sheet.true else _ratio(found[0].scale)
        rows.append((sheet.title, size, f"{len(found)}", f"{file_name(sheet, say)}.pdf"))
    columns = (*told.texts("sheet", "drawn"), *told.numbers("pages"), *told.texts("file"))
    return told.table(columns, rows)


def _ratio(scale: float) -> str:
    if not scale:
        return "not to scale"
    return f"1:{1.0 / scale:g}" if scale <= 1.0 else f"{scale:g}:1"


def _plain_name(text: str) -> str:
    kept = "".join(c if c.isalnum() or c in " -_" else " " for c in text)
    return " ".join(kept.split()).lower()


def csv_text(table: told.Table) -> str:
    """Return a table as CSV; a number with its give or take takes two columns.

    Parameters
    ----------
    table : Table
        The table.

    Returns
    -------
    str
        Comma separated (RFC 4180), a line a row, headings first.
    """
    split = [any(" ± " in row[k] for row in table.rows) for k in range(len(table.columns))]
    heads = [c.title for c in table.columns]
    lines = [_csv_row(heads, split, is_head=True)]
    lines += [_csv_row(row, split) for row in table.rows]
    return "".join(line + "\r\n" for line in lines)


def _csv_row(cells: Iterable[str], split: list[bool], *, is_head: bool = False) -> str:
    found: list[str] = []
    for cell, two in zip(cells, split, strict=True):
        if not two:
            found.append(cell.strip())
        elif is_head:
            found += [cell.strip(), f"{cell.strip()} ±".strip()]
        else:
            value, _, wide = cell.partition(" ± ")
            wide, _, rest = wide.partition(" ")
            found += [f"{value} {rest}".strip(), wide]
    return ",".join(_quoted(cell) for cell in found)


def _quoted(cell: str) -> str:
    return '"' + cell.replace('"', '""') + '"' if any(c in cell for c in ',"\r\n') else cell


def _as_pages(content: Iterable[told.Block]) -> Iterator[page.Block]:
    """Turn what is told into blocks of a page."""
    for block in content:
        if isinstance(block, told.Heading):
            # the contents name sections and drawings; a part of a section stays together
            yield page.Heading(level=2 + min(block.level, 2), text=block.title)
        elif isinstance(block, told.Table):
            align = "".join("r" if c.right else "l" for c in block.columns)
            marked = tuple(k for k, row in enumerate(block.rows) if row[-1] in _MARKED)
            columns = tuple(c.title for c in block.columns)
            yield page.Table(columns=columns, rows=block.rows, align=align, marked=marked)
        elif isinstance(block, told.Paragraph):
            yield _paragraph(block)
        elif block.strip():
            yield page.Paragraph(text=block.strip())


def _kept(blocks: Iterable[page.Block]) -> Iterator[page.Block]:
    """Keep each part of a section on one page, the first one with the section's heading."""
    part: list[page.Heading | page.Paragraph | page.Table | page.Figure] = []
    for block in blocks:
        if isinstance(block, page.Heading):
            if block.level <= _PART or not all(isinstance(b, page.Heading) for b in part):
                yield from _closed(part)
                part = []
            part.append(block)
        elif isinstance(block, page.Paragraph | page.Table) and _is_part(part):
            part.append(block)
        else:
            yield from _closed(part)
            part = []
            yield block
    yield from _closed(part)


def _is_part(blocks: list[page.Heading | page.Paragraph | page.Table | page.Figure]) -> bool:
    return any(isinstance(b, page.Heading) and b.level > _PART for b in blocks)


def _closed(
    blocks: list[page.Heading | page.Paragraph | page.Table | page.Figure],
) -> Iterator[page.Block]:
    if _is_part(blocks):
        yield page.Keep(blocks=tuple(blocks))
    else:
        yield from blocks


def _paragraph(told_: told.Paragraph) -> page.Paragraph:
    text = told_.text
    if text.startswith(_CAUTION):
        return page.Paragraph(text=text.removeprefix(_CAUTION), style="caution", lead="CAUTION")
    for lead in _WORST:
        if text.startswith(lead):
            style = "plain" if lead.startswith("TIGHT") else "caution"
            return page.Paragraph(text=text.removeprefix(lead), lead=lead.rstrip(": "), style=style)
    if text.startswith("* "):
        return page.Paragraph(text=text.removeprefix("* "), style="note")
    return page.Paragraph(text=text, style="small" if told_.indent >= _DEEP else "plain")
