"""A new job folder, the blank sheets, and writing files."""

import json
import math
import os
from enum import Enum
from fractions import Fraction

import numpy as np
import pytest

from spanwright.errors import FileFormatError, SpanwrightError
from spanwright.files import output
from spanwright.files.job_file import load_job
from spanwright.files.output import write_json, write_text_atomic
from spanwright.files.sheets import WIDTH, reading_sheets
from spanwright.files.template import new_job, template_text
from spanwright.survey.stage import adjust_survey


def test_a_new_job_loads(tmp_path):
    job, sheets = new_job(tmp_path / "a" / "b")
    assert load_job(tmp_path / "a" / "b").name == "Template crossing"
    assert job.read_text(encoding="utf-8") == template_text()
    assert sheets.read_text(encoding="utf-8") == reading_sheets(load_job(job))


def test_the_survey_of_a_new_job_holds_no_suspect(tmp_path):
    job = load_job(new_job(tmp_path)[0])
    survey = adjust_survey(job.survey, job.inputs)
    assert survey.suspects == ()


def test_every_table_of_the_template_has_a_comment():
    lines = template_text().splitlines()
    for k, line in enumerate(lines):
        if line.startswith("[") and not line.startswith(("[[", "[lines.upper")):
            assert lines[k - 1].startswith("#"), line


@pytest.mark.parametrize("name", ["job.toml", "reading-sheets.txt"])
def test_a_job_is_never_overwritten(tmp_path, name):
    (tmp_path / name).write_text("mine", encoding="utf-8")
    with pytest.raises(FileFormatError, match=name):
        new_job(tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == [name]
    assert (tmp_path / name).read_text(encoding="utf-8") == "mine"


def test_a_file_in_the_way_of_the_folder(tmp_path):
    (tmp_path / "x").write_text("mine", encoding="utf-8")
    with pytest.raises(FileFormatError, match="cannot be made"):
        new_job(tmp_path / "x" / "y")


# ---------------------------------------------------------------- sheets


def test_sheets_ask_for_every_reading_once(job):
    loaded = job.load()
    text = reading_sheets(loaded)
    lines = text.splitlines()
    for reading in loaded.survey.readings:
        rows = [line for line in lines if line.startswith(f"{reading.id} ")]
        assert len(rows) == (0 if reading.id.endswith("/2") else 1), reading.id
        assert all(row.count("__________") == 2 for row in rows)
    assert max(map(len, lines)) <= WIDTH


def test_sheets_are_blank(job):
    text = reading_sheets(job.load())
    for value in ("407.5", "72.1", "12.88", "19.5"):
        assert value not in text


def test_sheets_say_where_and_which_surface(job):
    text = reading_sheets(job.load())
    assert "height of railhead at b1 above peg at P1" in text
    assert "left is aisle, right is wall, looking from town" in text
    assert "girder depth of span A, aisle" in text
    assert "width of tall boxcar" in text


def test_sheets_warn_where_metal_crosses_rails(job):
    blocks = reading_sheets(job.load()).split("-" * WIDTH)
    warned = [block.split()[0] for block in blocks if "Track power off" in block]
    assert {"DISTANCES", "CROSS", "HEIGHTS", "TRACK"} <= set(warned)


def test_the_order_is_by_kind_then_as_in_the_file(job):
    text = reading_sheets(job.load())
    titles = [
        "DISTANCES",
        "OFFSETS FROM A STRING",
        "ALONG A STRING",
        "VERSINES",
        "HEIGHTS",
        "CROSS LEVELS",
        "LAYERS",
    ]
    assert sorted(titles, key=lambda title: text.index(f"\n{title}\n")) == titles
    assert text.index("\nh11 ") < text.index("\nh12 ") < text.index("\nh31 ")


def test_long_places_are_wrapped(job):
    job.replace('is = "407.5"', f'is = "407.5", note = "{"a long way round the joist and " * 4}"')
    assert max(map(len, reading_sheets(job.load()).splitlines())) <= WIDTH


# ---------------------------------------------------------------- writing


class Word(Enum):
    CLEAR = "clear"


def test_json_is_strict_and_stable():
    value = {
        "b": np.float64(1.5),
        "a": np.array([1, 2]),
        "é": Word.CLEAR,
        "c": Fraction(1, 4),
        "t": (None, True),
    }
    text = write_json(value)
    assert json.loads(text) == {"a": [1, 2], "b": 1.5, "c": 0.25, "t": [None, True], "é": "clear"}
    assert text == write_json(dict(reversed(value.items())))
    assert "é" in text
    assert text.endswith("}\n")


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, np.array([1.0, math.nan])])
def test_no_number_that_is_none(value):
    with pytest.raises(SpanwrightError, match="not finite"):
        write_json({"x": value})


def test_json_has_no_word_for_everything():
    with pytest.raises(SpanwrightError, match="'set'"):
        write_json({"x": {1}})


def test_writing_replaces_whole(tmp_path):
    path = tmp_path / "x.txt"
    path.write_text("old", encoding="utf-8")
    path.chmod(0o600)
    assert write_text_atomic(path, "new é\n") == path
    assert path.read_bytes() == "new é\n".encode()
    assert path.stat().st_mode & 0o777 == 0o600 or os.name == "nt"
    assert list(tmp_path.iterdir()) == [path]


def test_a_link_stays_a_link(tmp_path):
    path = tmp_path / "x.txt"
    path.write_text("old", encoding="utf-8")
    link = tmp_path / "link.txt"
    try:
        link.symlink_to(path)
    except OSError:
        pytest.skip("no links here")
    write_text_atomic(link, "new")
    assert link.is_symlink()
    assert path.read_text(encoding="utf-8") == "new"


def test_a_write_that_fails_leaves_the_old_file(tmp_path, monkeypatch):
    path = tmp_path / "x.txt"
    path.write_text("old", encoding="utf-8")

    def full(handle):
        raise OSError(28, "no space left")

    monkeypatch.setattr(output.os, "fsync", full)
    with pytest.raises(FileFormatError, match="no space left"):
        write_text_atomic(path, "new")
    assert path.read_text(encoding="utf-8") == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(FileFormatError, match="nowhere"):
        write_text_atomic(tmp_path / "nowhere" / "x.txt", "new")
