"""Findings as text: what must be mended, what to mind, what to know; like findings stand together."""

from __future__ import annotations

from spanwright.book.blocks import Block, heading, paragraph
from spanwright.drawings.speech import Speech
from spanwright.findings import Finding, Severity

_TITLES = {
    Severity.STOP: "STOP: mend these before building",
    Severity.WARNING: "Mind",
    Severity.NOTE: "Notes",
}
#: Findings that are told in full elsewhere: suspects, unchecked readings, gaps.
TOLD_ELSEWHERE = frozenset({"SU101", "CL101", "CL102", "CL103"})


def findings_text(
    findings: tuple[Finding, ...], say: Speech, *, without: frozenset[str] = TOLD_ELSEWHERE
) -> list[Block]:
    """Return findings, the gravest first; those with one code and remedy are told together.

    Parameters
    ----------
    findings : tuple of Finding
        The findings.
    say : Speech
        How places are said.
    without : frozenset of str
        Codes that are told elsewhere.

    Returns
    -------
    list of Block
        Blocks.
    """
    lines: list[Block] = []
    for severity, title in _TITLES.items():
        grouped: dict[tuple[str, str], list[Finding]] = {}
        for finding in findings:
            if finding.severity is severity and finding.code not in without:
                grouped.setdefault((finding.code, finding.remedy), []).append(finding)
        if grouped:
            lines += heading(title)
        for (code, remedy), group in grouped.items():
            lines += _group(code, remedy, group, say)
    return lines


def _group(code: str, remedy: str, group: list[Finding], say: Speech) -> list[Block]:
    lines = []
    for number, finding in enumerate(group):
        mark = f"{code}  " if number == 0 else " " * (len(code) + 2)
        lines += paragraph(
            f"{mark}{say.place(finding.where)}: {say.text(finding.text)}.", indent=2, hanging=7
        )
    if remedy:
        lines += paragraph(f"{say.text(remedy)}.", indent=9)
    return lines
