"""Count over many jobs: how often intervals hold, how often words are so, how often promises are kept.

Records are those of :func:`truth.whole.record.record`. Numbers of one job share their errors, so the spread of a
share is reckoned from job to job.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

WORDS = ("clear", "tight", "foul", "not proven")
BINS = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0 + 1e-9)


@dataclass
class Share:
    """How often something was so, and how well that is known."""

    jobs: int
    count: int
    part: float
    se: float

    @property
    def told(self) -> str:
        return f"{100.0 * self.part:.1f} ± {200.0 * self.se:.1f}"


def share(pairs: Iterable[tuple[float, float]]) -> Share:
    """Return the share of hits in counts, given by job as (hits, count)."""
    rows = np.array([p for p in pairs if p[1] > 0], dtype=float).reshape(-1, 2)
    total = rows[:, 1].sum()
    if total == 0.0:
        return Share(0, 0, float("nan"), float("nan"))
    part = rows[:, 0].sum() / total
    se = np.sqrt(np.sum((rows[:, 0] - part * rows[:, 1]) ** 2)) / total
    return Share(len(rows), int(total), float(part), float(se))


def classes(records: list[dict], key: str) -> list[str]:
    """Names of the classes of output, in the order of their first coming."""
    return list(dict.fromkeys(what for r in records for what in r.get(key, {})))


def covered(records: list[dict], key: str, what: str) -> Share:
    """How many of a class's 95 % intervals hold the truth."""
    return share((r[key][what][1], r[key][what][0]) for r in records if what in r.get(key, {}))


def ratios(records: list[dict], key: str, what: str) -> tuple[float, float, float]:
    """Mean and root mean square of error over doubt, then root mean square of the error alone."""
    rows = np.array([r[key][what] for r in records if what in r.get(key, {})])
    total = rows[:, 0].sum()
    mean = rows[:, 2].sum() / total
    return float(mean), float(np.sqrt(rows[:, 3].sum() / total)), float(np.sqrt(rows[:, 4].sum() / total))


def coverage_table(records: list[dict], key: str) -> list[str]:
    """A row for each class: all jobs, then those without and with waves."""
    out = [
        "| output | intervals | hold, % | without waves | with waves | rms of error / u | mean | rms of error |",
        "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    halves = [[r for r in records if r["waves"] is waves] for waves in (False, True)]
    for what in classes(records, key):
        whole = covered(records, key, what)
        mean, rms, error = ratios(records, key, what)
        parts = [covered(half, key, what) for half in halves]
        told = " | ".join(f"{100.0 * p.part:.1f}" for p in parts)
        out.append(
            f"| {what} | {whole.count} | {whole.told} | {told} | {rms:.2f} | {mean:+.2f} | {error:.2f} |"
        )
    return out


def short_table(flexible: list[dict], hand_laid: list[dict]) -> list[str]:
    """A row for each class of lines and gaps, of jobs with waves that the marks barely see, by kind of track."""
    out = [
        "| output | intervals | flexible: hold, % | rms of error / u | hand-laid: hold, % | rms of error / u |"
    ]
    out.append("| --- | ---: | ---: | ---: | ---: | ---: |")
    for what in classes(flexible, "planned"):
        if ":" in what:
            continue
        row = [what, str(covered(flexible, "planned", what).count)]
        for records in (flexible, hand_laid):
            row += [covered(records, "planned", what).told, f"{ratios(records, 'planned', what)[1]:.2f}"]
        out.append(f"| {' | '.join(row)} |")
    return out


def outside(records: list[dict], key: str, low: float, high: float) -> list[tuple[str, Share]]:
    """Classes whose share of intervals that hold lies outside two bounds."""
    found = [(what, covered(records, key, what)) for what in classes(records, key)]
    return [(what, one) for what, one in found if not low <= one.part <= high]


def risks(records: list[dict], key: str) -> tuple[int, float, int]:
    """Of gaps called clear: how many, how many should be under the margin by what is stated, how many are."""
    rows = np.array([r[key] for r in records if key in r]).reshape(-1, 3)
    return int(rows[:, 0].sum()), float(rows[:, 1].sum()), int(rows[:, 2].sum())


def risk_table(records: list[dict]) -> list[str]:
    """Rows for gaps called clear: as planned, after remedies, and of those the ones that a remedy has made clear."""
    out = [
        "| gaps called clear | gaps | stated to be under the margin | are under the margin | that is |",
        "| --- | ---: | ---: | ---: | ---: |",
    ]
    names = (
        ("clear", "as planned"),
        ("clear after", "after the remedies"),
        ("mended", "made clear by a remedy"),
    )
    for key, name in names:
        count, stated, under = risks(records, key)
        part = f"{100.0 * under / count:.2f} %" if count else "-"
        out.append(f"| {name} | {count} | {stated:.1f} | {under} | {part} |")
    joint = np.array([r["joint"] for r in records if "joint" in r]).reshape(-1, 2)
    out.append(
        f"| jobs with such a gap, after the remedies | {len(joint)} jobs | {joint[:, 0].sum():.1f} "
        f"| {int(joint[:, 1].sum())} | {100.0 * joint[:, 1].mean():.2f} % |"
    )
    return out


def word_table(records: list[dict]) -> list[str]:
    """How often each word was said of a gap, and how often it was not so."""
    out = ["| word | said | not so |", "| --- | ---: | ---: |"]
    for word in WORDS:
        key = word.upper().replace(" ", "_")
        rows = np.array([r["words"][key] for r in records if key in r.get("words", {})]).reshape(-1, 2)
        out.append(f"| {word} | {int(rows[:, 0].sum())} | {int(rows[:, 1].sum())} |")
    return out


def promises(records: list[dict]) -> list[dict]:
    """All promises that were put to the test."""
    return [r["promise"] for r in records if "promise" in r]


def calibration(records: list[dict]) -> float:
    """Spiegelhalter's z: how far all promises together are from being kept as often as promised.

    About 0 with a spread of 1 if each is (D. J. Spiegelhalter, Statistics in Medicine 5, 1986, from memory).
    """
    told, came = np.array([p["settled"] for p in promises(records)]).T
    weight = 1.0 - 2.0 * told
    return float(weight @ (came - told) / np.sqrt(weight**2 @ (told * (1.0 - told))))


def promise_table(records: list[dict]) -> list[str]:
    """Promised and seen: of each word, then of a verdict, by how likely it was said to be."""
    made = promises(records)
    out = ["| what was promised | cases | promised, % | seen, % |", "| --- | ---: | ---: | ---: |"]
    if not made:
        return out
    chances = np.array([p["chances"] for p in made])
    came = np.array([p["word"] for p in made])
    settled = np.array([p["settled"] for p in made])

    def row(name, told, seen):
        se = np.sqrt(max(seen.mean() * (1.0 - seen.mean()), 0.0) / len(seen))
        out.append(
            f"| {name} | {len(told)} | {100.0 * told.mean():.1f} | {100.0 * seen.mean():.1f} ± {200.0 * se:.1f} |"
        )

    for k, word in enumerate(WORDS):
        row(f"the word *{word}*", chances[:, k], came == k)
    row("a verdict", settled[:, 0], settled[:, 1])
    for low, high in pairwise(BINS):
        some = (settled[:, 0] >= low) & (settled[:, 0] < high)
        if some.any():
            name = f"a verdict, said to be {100.0 * low:.0f} to {100.0 * min(high, 1.0):.0f} % likely"
            row(name, settled[some, 0], settled[some, 1])
    kinds = np.array([p["reading"] for p in made])
    for kind in sorted(set(kinds)):
        row(f"a verdict by: {kind}", settled[kinds == kind, 0], settled[kinds == kind, 1])
    return out


def late(records: list[dict]) -> tuple[int, float, float]:
    """Of one reading taken late and early: cases, and the largest differences in parts of the doubt."""
    rows = np.array([r["late"] for r in records if "late" in r]).reshape(-1, 2)
    rows = rows[np.isfinite(rows[:, 0])]
    return len(rows), float(rows[:, 0].max(initial=0.0)), float(rows[:, 1].max(initial=0.0))


def refused(records: list[dict]) -> dict[str, int]:
    """How many jobs were refused, by what was said."""
    out: dict[str, int] = {}
    for r in records:
        if "refused" in r:
            out[r["refused"]] = out.get(r["refused"], 0) + 1
    return out
