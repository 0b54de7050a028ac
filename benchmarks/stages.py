"""Time each stage on the demo job, and the whole command from cold. Prints; judges nothing.

Run by ``python3 go.py bench stages``. Machines are shared and noisy: read the ratios.
"""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import replace
from importlib.resources import files

from spanwright.alignment.stage import align
from spanwright.clearance.stage import assess
from spanwright.files.job_file import load_job
from spanwright.job import derive
from spanwright.structures.stage import fit_structures
from spanwright.survey.stage import adjust_survey


def timed(name: str, work, repeats: int = 3):
    """Best of a few runs; returns the last result."""
    best, result = float("inf"), None
    for _ in range(repeats):
        start = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - start)
    print(f"{name:<44}{1000.0 * best:10.1f} ms")
    return result


def main(repeats: int = 3) -> None:
    """Run all of them once over."""
    folder = files("spanwright").joinpath("files", "demo")
    job = timed("load the job file", lambda: load_job(str(folder)), repeats)
    survey = timed("survey", lambda: adjust_survey(job.survey, job.inputs), repeats)
    lines = timed("alignment", lambda: align(job.lines, survey, job.inputs), repeats)
    timed("alignment, choices held", lambda: align(job.lines, survey, job.inputs, lines.choices), repeats)
    bridge = timed("structures", lambda: fit_structures(job.structures, survey, lines), repeats)
    track = {laid.line.name: laid.line for laid in lines.lines}
    gaps = timed("gaps searched", lambda: assess(lines.inputs, track, bridge.shapes, job.clearance), 1)
    timed(
        "gaps and doubts, witnesses held",
        lambda: assess(lines.inputs, track, bridge.shapes, job.clearance, choices=gaps.choices),
        repeats,
    )
    plan = timed("everything, clearance searched", lambda: derive(job), 1)
    timed("everything, choices held", lambda: derive(job, plan.choices), repeats)
    few = replace(job, clearance=replace(job.clearance, runs=job.clearance.runs[:1]))
    timed("everything with one vehicle", lambda: derive(few), 1)
    for arguments in (["--help"], ["survey", str(folder)]):
        command = [sys.executable, "-m", "spanwright", *arguments]
        timed(
            "spanwright " + " ".join(arguments[:1]) + ", from cold",
            lambda c=command: subprocess.run(c, stdout=subprocess.DEVNULL, check=False),
            repeats,
        )


if __name__ == "__main__":
    main()
