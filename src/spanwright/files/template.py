"""A new job folder: a commented job file that is complete, and blank sheets to take to the layout."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from spanwright.errors import FileFormatError
from spanwright.files.job_file import load_job
from spanwright.files.output import write_text_atomic
from spanwright.files.sheets import reading_sheets
from spanwright.files.source import JOB_FILE

SHEETS_FILE = "reading-sheets.txt"


def template_text() -> str:
    """Return the job file that a new job starts with.

    Returns
    -------
    str
        A small made-up job with comments, ready to be loaded and overwritten.
    """
    return resources.files("spanwright.files").joinpath("templates", JOB_FILE).read_text(encoding="utf-8")


def new_job(directory: str | Path) -> tuple[Path, ...]:
    """Make a job folder.

    Parameters
    ----------
    directory : str or Path
        The folder; it is made if it is not there.

    Returns
    -------
    tuple of Path
        The files written: the job file and the blank reading sheets.

    Raises
    ------
    FileFormatError
        If the folder holds a job already, or cannot be written to.
    """
    folder = Path(directory)
    job, sheets = folder / JOB_FILE, folder / SHEETS_FILE
    for file in (job, sheets):
        if file.exists() or file.is_symlink():
            raise FileFormatError(
                "there is a job here already, and it was left as it is",
                code="FI012",
                where=str(file),
                hint="Name another folder, or move that file away",
            )
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        raise FileFormatError(
            f"this folder cannot be made ({problem.strerror or problem})", code="FI011", where=str(folder)
        ) from problem
    written = write_text_atomic(job, template_text())
    return (written, write_text_atomic(sheets, reading_sheets(load_job(written))))
