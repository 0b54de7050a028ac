"""Draw whole jobs whose truth is known and count how often the plan was right.

Run by ``python3 go.py bench simulation``, which works through a few jobs and prints. The table in the docs:

    python benchmarks/simulation.py --jobs 2000 --results FILE --write

Each job is one line in the file of results; a run that was stopped (``--seconds``) goes on where it was, but
not with other code. What is drawn and what is true: ``tests/truth/whole``.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import time
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, ProcessPoolExecutor, wait
from datetime import date
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "src")]

from spanwright.alignment.given import TrackKind  # noqa: E402
from truth.whole import tally  # noqa: E402
from truth.whole.record import record, short_waves  # noqa: E402

DATE = 20261130
PAGE = ROOT / "docs" / "simulation.md"
TEXT = Path(__file__).with_name("simulation_page.md")
LOW, HIGH = 0.93, 0.99
CORES = 2
SHORT = 60  # jobs with waves that the marks barely see,
KINDS = (TrackKind.FLEXIBLE, TrackKind.HAND_LAID)  # whose track is said to be of each of these kinds


def code() -> str:
    """Return what tells the code that the results rest on from other code."""
    digest = hashlib.sha256()
    for folder in ("src/spanwright", "tests/truth"):
        for path in sorted((ROOT / folder).rglob("*")):
            if path.suffix in (".py", ".toml", ".c"):
                digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def kept(path: Path | None, head: dict, *, as_is: bool) -> list[dict]:
    """Return the records of an earlier run, and begin the file if there is none."""
    if path is None:
        return []
    if not path.exists():
        path.write_text(json.dumps(head) + "\n", encoding="utf-8")
    lines = path.read_text(encoding="utf-8").splitlines()
    if json.loads(lines[0]) != head and not as_is:
        sys.exit(f"{path} is of other code: give another file, or --as-is to count what is in it.")
    return [json.loads(line) for line in lines[1:]]


def work(jobs: list[int], seconds: float, seed: int) -> Iterator[dict]:
    """Work through jobs on several cores until the time is over; yield each record as it is done."""
    end = time.monotonic() + seconds
    with ProcessPoolExecutor(CORES) as pool:
        waiting, left = set(), iter(jobs)
        while True:
            while len(waiting) < 2 * CORES and time.monotonic() < end:
                number = next(left, None)
                if number is None:
                    break
                waiting.add(pool.submit(partial(record, seed), number))
            if not waiting:
                return
            done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            for one in done:
                yield one.result()


def page(records: list[dict], short: list[list[dict]]) -> str:
    """Return the page of the docs: its words, with the tables put in."""
    cases, apart, wider = tally.late(records)
    refused = tally.refused(records)
    off = {
        key: [f"{what} ({100.0 * one.part:.1f} %)" for what, one in tally.outside(records, key, LOW, HIGH)]
        for key in ("planned", "built")
    }
    readings = [r["readings"] for r in records if "readings" in r]
    told = {
        "date": date.today().isoformat(),
        "seed": str(DATE),
        "jobs": str(len(records)),
        "waves": str(sum(r["waves"] for r in records)),
        "last": str(max((r["job"] for r in records), default=0)),
        "refused": ", ".join(f"{count} x {what}" for what, count in refused.items()) or "none",
        "planned": "\n".join(tally.coverage_table(records, "planned")),
        "built": "\n".join(tally.coverage_table(records, "built")),
        "built jobs": str(len(readings)),
        "contradicted": f"{sum(n - used for used, n in readings)} of {sum(n for _, n in readings)}",
        "outside planned": "; ".join(off["planned"]) or "none",
        "outside built": "; ".join(off["built"]) or "none",
        "words": "\n".join(tally.word_table(records)),
        "risks": "\n".join(tally.risk_table(records)),
        "still open": str(sum(r.get("still open", 0) for r in records)),
        "promises": "\n".join(tally.promise_table(records)),
        "calibration": f"{tally.calibration(records):+.1f}" if tally.promises(records) else "-",
        "short": "\n".join(tally.short_table(*short)),
        "short jobs": str(len(short[0])),
        "short clear": " and ".join(
            f"{under} of {count} ({stated:.1f} stated) on {kind.value} track"
            for kind, (count, stated, under) in (
                (kind, tally.risks(some, "clear")) for kind, some in zip(KINDS, short, strict=True)
            )
        ),
        "late": f"{cases} cases: {100.0 * apart:.2f} % of the doubt at most, doubts {100.0 * wider:.2f} %",
    }
    text = TEXT.read_text(encoding="utf-8")
    for key, value in told.items():
        text = text.replace("{" + key + "}", value)
    return text


def main() -> None:
    """Work, keep, print; write the page if asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", type=int, default=20)
    parser.add_argument("--seconds", type=float, default=float("inf"))
    parser.add_argument("--results", type=Path, default=None)
    parser.add_argument("--as-is", action="store_true", help="work through nothing, count what is there")
    parser.add_argument("--write", action="store_true")
    given = parser.parse_args()
    head = {"date": DATE, "code": code()}
    records = kept(given.results, head, as_is=given.as_is)
    there = {r["job"] for r in records}
    missing = [] if given.as_is else [n for n in range(given.jobs) if n not in there]
    for one in work(missing, given.seconds, DATE):
        records.append(one)
        if given.results is not None:
            with given.results.open("a", encoding="utf-8") as sink:
                sink.write(json.dumps(one) + "\n")
    records = sorted((r for r in records if r["job"] < given.jobs), key=lambda r: r["job"])
    with ProcessPoolExecutor(CORES) as pool:
        some = range(min(SHORT, given.jobs))
        short = [list(pool.map(partial(short_waves, DATE, kind), some)) for kind in KINDS]
    text = page(records, short)
    print(text)
    if given.write:
        PAGE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
