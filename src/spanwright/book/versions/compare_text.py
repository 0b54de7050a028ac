"""Two plans side by side as text: whether that is fair, what differs, what the change would cost."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from spanwright.book.blocks import Block, Column, heading, numbers, paragraph, table, texts
from spanwright.book.check_text import legend
from spanwright.book.clearance_text import part_of, value_of, vehicle_on
from spanwright.clearance.stage import Gap
from spanwright.drawings.speech import Speech
from spanwright.estimation.derived import Derived
from spanwright.findings import Finding
from spanwright.parts.listing.piece import PieceSize
from spanwright.variants.compare import Comparison, SizePair
from spanwright.variants.given import Otherwise
from spanwright.variants.lost import Fate, Lost

_MOST = 12  # rows of one table, so that all of it stays a page
#: What of a made part would be otherwise.
_WHAT = {"length": "cut to", "station": "along the upper line", "support": "not in the other plan"}
Names = tuple[str, str]
Says = tuple[Speech, Speech]


def compare_text(found: Comparison, names: Names, says: Says) -> list[Block]:
    """Return one page of what differs between two plans.

    Parameters
    ----------
    found : Comparison
        What differs.
    names : tuple of str
        What the two plans are called.
    says : tuple of Speech
        How their numbers are said.

    Returns
    -------
    list of Block
        Blocks.
    """
    if found.is_same:
        total = sum(one for _, one, _ in found.counts)
        many = f"all {total} gaps, " if total else ""
        return paragraph(
            f"Nothing differs: the same readings, the same decisions, {many}all sizes as printed."
        )
    lines = _fair(found, names)
    lines += _rows("Decided otherwise", found.decided, names)
    lines += [*_cost(found, names), "", *legend(says[0])]
    lines += _lost(found.lost, says)
    lines += _gaps(found, names, says)
    lines += _sizes("Cut sizes", found.cuts, names, says)
    lines += _heights(found, names, says)
    lines += _sizes("To buy or from the kit", found.buys, names, says)
    for name, own, say in zip(names, found.findings, says, strict=True):
        lines += _findings(name, own, say)
    return lines


def _fair(found: Comparison, names: Names) -> list[Block]:
    lines: list[Block] = []
    if found.readings:
        lines += paragraph(
            "NOT A FAIR COMPARISON: the readings are not the same, so what differs below comes of them as"
            " well as of what was decided. Put the same readings into both files."
        )
        lines += _rows("Read otherwise", found.readings, names)
    if found.sizes:
        lines += [""] if lines else []
        lines += paragraph(
            "Sizes that were measured differ. The comparison is fair only if these are other parts, and not"
            " other readings of the same ones."
        )
        lines += _rows("Measured otherwise", found.sizes, names)
    return lines or ["Both rest on the same readings."]


def _rows(title: str, rows: Sequence[Otherwise], names: Names) -> list[Block]:
    if not rows:
        return []
    columns = texts("", *names, most=44)
    return heading(title) + _short(columns, [(r.what, r.one, r.other) for r in rows])


def _short(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[Block]:
    """Return a table of the first rows, and how many more there are."""
    lines = table(columns, rows[:_MOST])
    rest = len(rows) - _MOST
    return [*lines, *([f"  and {rest} more"] if rest > 0 else [])]


def _many(count: int, one: str, more: str = "") -> str:
    return f"{count} {one if count == 1 else more or one + 's'}"


def _cost(found: Comparison, names: Names) -> list[Block]:
    sizes = [s for s in found.cuts if s.name]
    pieces = len({s.id for s in sizes})
    told = [f"{_many(len(sizes), 'size')} of {_many(pieces, 'piece')} cut otherwise"] if sizes else []
    for k, name in enumerate(names):
        own = sum(
            s.counts[k] - s.counts[1 - k] for s in found.cuts if not s.name and s.counts[k] > s.counts[1 - k]
        )
        told += [f"{_many(own, 'piece')} to make only for {name}"] if own else []
    told += (
        [f"{_many(len({s.id for s in found.buys}), 'thing')} bought or from the kit otherwise"]
        if found.buys
        else []
    )
    fates = [lost.fate for lost in found.lost]
    told += [f"{_many(fates.count(f), 'made part')} {f.value}" for f in Fate if f in fates]
    answer = "; ".join(told) if told else "nothing is cut, bought or lost otherwise"
    return heading("Cost of the change") + paragraph(f"From {names[0]} to {names[1]}: {answer}.", indent=2)


def _lost(lost: Sequence[Lost], says: Says) -> list[Block]:
    if not lost:
        return []
    say = says[0]
    rows = [
        (
            say.place(part.part),
            part.state,
            _WHAT[part.what],
            say.cut(part.made) if part.what == "length" else say.bare(part.made),
            "-"
            if part.wanted is None
            else say.cut(part.wanted)
            if part.what == "length"
            else say.bare(part.wanted),
            part.fate.value,
        )
        for part in lost
    ]
    columns = (*texts("part", "state", ""), *numbers("as made", "would be"), *texts("then"))
    lines = heading(f"Parts made already ({say.unit})") + _short(columns, rows)
    return lines + paragraph(
        "To see what the other plan makes of a part as it is, put its [[made]] entry into that job too.",
        indent=2,
    )


def _gaps(found: Comparison, names: Names, says: Says) -> list[Block]:
    if not any(a or b for _, a, b in found.counts):
        return []
    lines = heading("Gaps by word")
    rows = [(word.value, f"{a}", f"{b}") for word, a, b in found.counts]
    lines += table((*texts("word"), *numbers(*names)), rows)
    for name, own in zip(names, found.only, strict=True):
        if own:
            pairs = ", ".join(
                dict.fromkeys(f"{vehicle_on(g)} and {g.part.split('/')[0]}" for g in own[:_MOST])
            )
            lines += paragraph(f"Only {name} has {_many(len(own), 'gap')}: {pairs}.", indent=2, hanging=2)
    unit = says[0].unit
    if found.words:
        lines += heading(f"Gaps whose word changes ({unit})")
        columns = (
            *texts("vehicle", "part", most=28),
            *_paired("", names, words=True),
            *_paired("gap", names),
        )
        lines += _short(columns, [_changed(a, b, says) for a, b in found.words])
    if found.least:
        lines += heading(f"Least gaps ({unit})")
        cells = [(_of(a or b, says[0]), *_both(a, b, says)) for a, b in found.least]
        columns = (*texts("vehicle", "part", most=30), *_paired("gap", names))
        lines += table(columns, [(*who, one, other) for who, one, other in cells])
    return lines


def _paired(title: str, names: Names, *, words: bool = False) -> tuple[Column, ...]:
    titles = [f"{title} {name}".strip() for name in names]
    return texts(*titles, most=18) if words else numbers(*titles, most=18)


def _of(gap: Gap | None, say: Speech) -> tuple[str, str]:
    return ("-", "-") if gap is None else (vehicle_on(gap), part_of(gap, say))


def _both(one: Gap | None, other: Gap | None, says: Says) -> tuple[str, str]:
    a, b = (("-" if g is None else value_of(g, s)) for g, s in zip((one, other), says, strict=True))
    return a, b


def _changed(one: Gap, other: Gap, says: Says) -> tuple[str, ...]:
    return (*_of(one, says[0]), one.verdict.value, other.verdict.value, *_both(one, other, says))


def _number(number: Derived | None, say: Speech) -> str:
    return "-" if number is None else say.of(number)


def _sizes(title: str, pairs: Sequence[SizePair], names: Names, says: Says) -> list[Block]:
    """Return a row a size: cut to, in either, then finished with its doubt."""
    if not pairs:
        return []
    rows: list[tuple[str, ...]] = []
    for pair in pairs:
        where = says[0].place(pair.id)
        if not pair.name:
            rows.append((where, "how many", f"{pair.counts[0]}", f"{pair.counts[1]}", "", ""))
            continue
        cuts = [_cut(size, say) for size, say in zip((pair.one, pair.other), says, strict=True)]
        ready = [
            _number(size.finished if size else None, say)
            for size, say in zip((pair.one, pair.other), says, strict=True)
        ]
        rows.append((where, says[0].text(pair.name), *cuts, *ready))
    columns = (*texts("piece", "size", most=26), *_paired("cut to,", names), *_paired("finished,", names))
    kept = [k for k in range(len(columns)) if k < 2 or any(row[k] for row in rows)]
    return heading(f"{title} ({says[0].unit})") + _short(
        [columns[k] for k in kept], [[row[k] for k in kept] for row in rows]
    )


def _cut(size: PieceSize | None, say: Speech) -> str:
    return "" if size is None or size.cut is None else say.cut(size.cut)


def _heights(found: Comparison, names: Names, says: Says) -> list[Block]:
    """Return a row a bearing; a number that is the same in both is left blank."""
    told: dict[str, dict[str, tuple[str, str]]] = {}
    for pair in found.heights:
        both = _number(pair.one, says[0]), _number(pair.other, says[1])
        told.setdefault(pair.id, {})[pair.name] = both
    kinds = [kind for kind in ("seat", "packing") if any(kind in row for row in told.values())]
    rows = [
        (says[0].place(bearing), *(cell for kind in kinds for cell in row.get(kind, ("", ""))))
        for bearing, row in told.items()
        if any(kind in row for kind in kinds)
    ]
    if not rows:
        return []
    columns = (*texts("bearing"), *(column for kind in kinds for column in _paired(f"{kind},", names)))
    return heading(f"Heights and packing at the bearings ({says[0].unit})") + _short(columns, rows)


def _findings(name: str, findings: Iterable[Finding], say: Speech) -> list[Block]:
    lines: list[Block] = []
    for finding in findings:
        said = (
            f"{finding.code}  {finding.severity.value}, {say.place(finding.where)}: {say.text(finding.text)}."
        )
        lines += paragraph(said, indent=2, hanging=7)
    rest = len(lines) - _MOST
    more: list[Block] = [f"  and {rest} more"] if rest > 0 else []
    return [*heading(f"Found only for {name}"), *lines[:_MOST], *more] if lines else []
