"""Write docs/pages/*.svg and docs/pages.md: pages of the demo's book, as they come out of the program.

Run ``python docs/make_pages.py`` after a change of the demo or of a drawing. A test
(``tests/book/test_docs_pages.py``) fails when a page is stale.
"""

from __future__ import annotations

from pathlib import Path

from spanwright.book.making import Making, make, stamp_of
from spanwright.drawings.calibration import calibration
from spanwright.drawings.svg import written
from spanwright.drawings.tiles import pages
from spanwright.files.job_file import load_job
from spanwright.job import Plan, derive

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "src" / "spanwright" / "files" / "demo" / "job.toml"
FOLDER = ROOT / "docs" / "pages"
PAGE = ROOT / "docs" / "pages.md"

#: Sheet -> which of its pages, and what to see in it.
SHOWN = {
    "arrangement/plan": (
        0,
        "Both lines, the bridge over them, kinks at the supports, bearing numbers.",
    ),
    "arrangement/elevation": (0, "Unrolled along the spans; the heights stand in the table beneath."),
    "general/section": (0, "At the bent: what all trains sweep, and the closest points with their verdicts."),
    "arrangement/profile": (
        0,
        "Both lines in height, drawn taller than long, and each mark.",
    ),
    "arrangement/build-up 1": (0, "Every bearing as a column of layers."),
    "pattern/opening top": (1, "A tile of the cut pattern: slots for the rails, saw line and finished line."),
    "pattern/opening ordinates": (0, "The same by rule, and what to measure before the saw."),
    "wrap/pier 1": (0, "The tapered shaft unrolled, true along its faces; folded round, it marks the cut."),
    "seat/bent": (0, "Where the shoes stand on the bent's cap."),
    "jig/span B + span C": (0, "Two spans joined into one unit: kink, stops, what is laid under the shoes."),
    "stick/sheet 1": (0, "A go and a no-go stick for every bearing, made by caliper."),
    "card/bent/column left": (0, "Slid past the column on the lower rails: it must pass."),
    "card/cant": (0, "Cards whose top is level where the cant is right."),
}


def name_of(key: str) -> str:
    """The file of a sheet."""
    return "-".join("".join(c if c.isalnum() else " " for c in key).split()) + ".svg"


def images(plan: Plan, making: Making) -> dict[str, str]:
    """File name -> SVG of a page."""
    stamp, printer = stamp_of(plan), plan.job.printer
    sheets = {sheet.id: sheet for sheet in (*making.patterns, *making.arrangement)}
    found = {}
    for key, (number, _) in SHOWN.items():
        laid = pages(sheets[key], printer=printer, stamp=stamp)
        found[name_of(key)] = written(laid[number].items, title=sheets[key].title, in_order=True)
    print_ = pages(calibration(printer), printer=printer.uncorrected, stamp=stamp)[0]
    found["calibration.svg"] = written(print_.items, title=calibration(printer).title, in_order=True)
    return found


def page(making: Making) -> str:
    """The gallery."""
    lines = [
        "# Pages of the demo's book",
        "",
        "Made by `python docs/make_pages.py`. The patterns are drawn here as they are printed, but a browser",
        "shows them at any size: cut from the PDF, at 100 %, after measuring its bars.",
        "",
        "![calibration](pages/calibration.svg)",
        "",
        "The calibration print: its two bars, measured, take the printer's own error out of later sheets.",
        "",
    ]
    for key, (_, words) in SHOWN.items():
        lines += [
            f"## {making.titles[key]}",
            "",
            f"![{making.titles[key]}](pages/{name_of(key)})",
            "",
            words,
            "",
        ]
    return "\n".join(lines)


def main() -> None:
    """Write everything."""
    plan = derive(load_job(DEMO))
    making = make(plan)
    FOLDER.mkdir(exist_ok=True)
    wanted = images(plan, making)
    for old in FOLDER.glob("*.svg"):
        if old.name not in wanted:
            old.unlink()
    for name, text in wanted.items():
        (FOLDER / name).write_text(text, encoding="utf-8", newline="\n")
    PAGE.write_text(page(making), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
