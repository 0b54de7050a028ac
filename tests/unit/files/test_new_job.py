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
from spanwright.job import derive
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


def test_a_new_job_has_no_packing_that_looks_too_thick(tmp_path):
    plan = derive(load_job(new_job(tmp_path)[0]))
    assert "ST122" not in {finding.code for finding in plan.findings}


def test_the_template_opens_by_saying_that_all_of_it_is_a_sample():
    assert template_text().startswith("# EVERYTHING IN THIS FILE IS A SAMPLE")


@pytest.mark.parametrize(
    "words", ["needs a rough place", "stock = {", "along = ", "leaves out length and outline"]
)
def test_the_template_mentions(words):
    assert any(words in line for line in template_text().splitlines() if line.startswith("#"))


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
    assert {"DISTANCES", "CROSS", "HEIGHTS", "TRACK", "ALONG"} <= set(warned)


def block(text, title):
    return next(part for part in text.split("-" * WIDTH) if part.startswith(f"\n{title}\n"))


def test_three_pieces_have_three_columns(job):
    text = reading_sheets(job.load())
    for title, columns in (("LAYERS", 3), ("TRACK", 3), ("BRIDGE PARTS", 2)):
        rows = [line for line in block(text, title).splitlines() if "____" in line]
        assert rows
        assert {row.count("__________") for row in rows} == {columns}


def test_the_hint_of_a_cross_level_fits_its_tool(job):
    text = block(reading_sheets(job.load()), "CROSS LEVELS")
    assert "feeler under its low end" in text
    assert "reach of the block" in text
    assert "end for end" not in text
    old = 'is = "1.0", reach = "100", high = "wall", by = "feeler"'
    text = reading_sheets(job.replace(old, 'is = "1 deg", high = "wall", by = "digital level"').load())
    by_angle = block(text, "CROSS LEVELS BY ANGLE")
    assert "end for end" in by_angle
    assert "c01" in by_angle
    assert "reach" not in by_angle
    assert "c01" not in block(text, "CROSS LEVELS")


def test_what_is_not_there_yet_is_read_when_it_is_made(job):
    text = reading_sheets(job.load())
    assert "as it is to be" not in text
    assert "cap thickness of bent, when made" in text
    assert "near column face of bent," in block(text, "SUPPORTS")
    assert "aisle, when it stands" in block(text, "SUPPORTS")
    job.replace('aisle = "22"', 'aisle = { is = "22", by = "rule" }')
    assert "aisle, by rule" in reading_sheets(job.load())


def test_vehicles_have_room_for_outline_sections_and_play(job):
    text = block(reading_sheets(job.load()), "OUTLINES OF VEHICLES")
    assert text.count("\ntall boxcar\n") == 1
    assert "play to each side ____" in text
    assert "rocking to each side ____" in text
    assert "section 1" in text
    assert "section 2" not in text
    assert min(line.count("____ ") for line in text.splitlines() if "height  " in line) >= 4
    job.replace(
        'length  = "115"\n',
        'sections = [{ from = "-50", to = "0", outline = [["3", "14"], ["33", "12"]] },\n'
        '{ from = "-3", to = "50", outline = [["3", "14"], ["33", "12"]] }]\n',
    ).replace('outline = [["3", "14"], ["6", "19.5"], ["29", "19.5"], ["33", "12"]]\n', "")
    assert "section 2" in block(reading_sheets(job.load()), "OUTLINES OF VEHICLES")


def test_no_vehicles_no_outlines(job):
    job.text = job.text[: job.text.index("[clearance]")]
    assert "OUTLINES" not in reading_sheets(job.load())


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
