"""The tables of the job file that say what is made: the board, its obstructions, settings, the printer."""

import math
import re

import pytest

from spanwright.drawings.printer import Printer
from spanwright.parts.given import LaidTies, Obstruction

BOARD = """
[subroadbed]
by        = "caliper"
thickness = ["12.30", "12.36"]
kerf      = "1.2"
lean      = "3 deg"
room      = "4"
slot      = "2.8"
ties      = { length = "16", width = "1.6", pitch = "4.6" }
edge      = { wall = "40" }
pilots    = ["b5", "b3"]

[[subroadbed.obstructions]]
name   = "riser"
mark   = "b6"
along  = { town = "-18", yard = "38" }
across = { aisle = "22", wall = "20" }
sd     = "2"

[[subroadbed.obstructions]]
name   = "feeder"
mark   = "b2"
along  = { yard = "4", town = "5" }
across = { aisle = "13", wall = "-5" }

[parts]
tolerance = "0.2"
hand      = "80"

[printer]
paper  = "Letter"
across = "149.6"
down   = "200.1"
"""


@pytest.fixture
def board(job):
    job.text += BOARD
    return job


def test_what_was_written_is_what_the_stage_gets(board):
    loaded = board.load()
    found = loaded.parts.subroadbed
    assert [loaded.inputs[key].value for key in found.thickness.ids] == [12.30, 12.36]
    assert (found.kerf, found.room, found.slot) == (1.2, 4.0, 2.8)
    assert found.lean == pytest.approx(math.radians(3.0))
    assert found.ties == LaidTies(length=16.0, width=1.6, pitch=4.6)
    assert (found.edge_left, found.edge_right) == (math.inf, 40.0)
    assert found.pilots == ("b3", "b5")  # in the order in which they stand on the line
    assert found.obstructions == (
        Obstruction(name="riser", mark="b6", along=(18.0, 38.0), across=(-20.0, 22.0), sd=2.0),
        Obstruction(name="feeder", mark="b2", along=(-5.0, 4.0), across=(5.0, 13.0), sd=3.0),
    )
    assert (found.every, found.whole) == (25.0, 1.0)
    assert (loaded.parts.tolerance, loaded.parts.hand) == (0.2, 80.0)
    assert loaded.printer == Printer(paper="Letter", across=149.6, down=200.1)


def test_what_is_left_out(job):
    job.text += '\n[subroadbed]\nthickness = { is = "12", by = "caliper" }\n'
    loaded = job.load()
    found = loaded.parts.subroadbed
    # the upper line's rail head is 0.6 in the template
    assert (found.kerf, found.room, found.slot) == (1.0, 3.0, pytest.approx(2.6))
    assert found.lean == pytest.approx(math.radians(2.0))
    assert found.ties is None
    assert found.obstructions == ()
    assert (found.edge_left, found.edge_right) == (math.inf, math.inf)
    assert (loaded.parts.tolerance, loaded.parts.hand) == (0.15, 90.0)
    assert loaded.printer == Printer()


def test_a_bridge_without_these_tables(job):
    loaded = job.load()
    assert loaded.parts.subroadbed is None
    assert loaded.printer == Printer()


def test_without_a_bridge_there_are_no_parts(job):
    job.text = job.text[: job.text.index("[bridge]")]
    assert job.load().parts is None


def test_one_bar_may_be_measured_alone(job):
    job.text += '\n[printer]\ndown = "199.2"\n'
    assert job.load().printer == Printer(down=199.2)


def test_a_rule_in_inches(job):
    job.replace('unit   = "mm" ', 'unit = "inch" ')
    for old, new in (
        ('["9.02", "9.05"]', '"0.355"'), ('["9.00", "9.04"]', '"0.354"')
    ):  # fmt: skip
        job.replace(old, new)
    job.text = job.text.replace('rail_head = "0.6"', 'rail_head = "0.6 mm"')
    head, tail = job.text[: job.text.index("[bridge]")], job.text[job.text.index("[bridge]") :]
    job.text = head + re.sub(r'"(\d+\.?\d*)"', r'"\1 mm"', tail)
    job.text += '\n[subroadbed]\nthickness = { is = "1/2", by = "caliper" }\n'
    found = job.load().parts.subroadbed
    assert (found.every, found.whole) == (25.4, 25.4 / 16.0)


@pytest.mark.parametrize(
    ("old", "new", "code", "says"),
    [
        ('thickness = ["12.30", "12.36"]', 'thickness = "-12"', "JO012", ["subroadbed.thickness", "'-12'"]),
        ('thickness = ["12.30", "12.36"]', "", "JO002", ["'thickness' is missing"]),
        ('thickness = ["12.30", "12.36"]', 'thickness = "15 in"', "JO086", ["too thick", "15 in", "100 mm"]),
        ('by        = "caliper"\nthick', "thick", "JO017", ["subroadbed.thickness", "measured with"]),
        ('kerf      = "1.2"', 'kerf = "-1"', "JO012", ["subroadbed.kerf", "'-1'"]),
        ('lean      = "3 deg"', 'lean = "45 deg"', "JO086", ["subroadbed.lean", "45 deg", "0 to 30 deg"]),
        ('slot      = "2.8"', 'slot = "0.5"', "JO086", ["subroadbed.slot", "0.5", "more than the rail head"]),
        ('length = "16"', 'length = "9"', "JO086", ["ties.length", "'9'", "both rails"]),
        ('tie_width    = "1.5"', 'tie_width = "9"', "JO086", ["bridge.tie_pitch", "their width, 9 mm"]),
        ('pitch = "4.6"', 'pitch = "1.5"', "JO086", ["ties.pitch", "1.5", "more than their width, 1.6 mm"]),
        (
            'edge      = { wall = "40" }',
            'edge = { wall = "4" }',
            "JO086",
            ["edge.wall", "'4'", "under a rail"],
        ),
        ('edge      = { wall = "40" }', 'edge = { north = "40" }', "JO015", ["north", "aisle, wall"]),
        ('["b5", "b3"]', '["b5"]', "JO085", ["pilots", "b5", "two different marks"]),
        ('["b5", "b3"]', '["b5", "b5"]', "JO085", ["two pilot holes"]),
        ('["b5", "b3"]', '["b5", "a3"]', "JO084", ["a3", "not a mark of the line upper"]),
        ('mark   = "b6"', 'mark = "g1"', "JO084", ["obstructions", "g1"]),
        ('name   = "feeder"', 'name = "riser"', "JO016", ["riser", "twice"]),
        ('town = "-18", ', "", "JO056", ["along", "both ways", 'yard = "...", town']),
        ('town = "-18"', 'north = "-18"', "JO015", ["north", "yard, town"]),
        ('yard = "38"', 'yard = "12"', "JO083", ["reaches nowhere", "town -18, yard 12"]),
        ('wall = "-5"', 'wall = "-13"', "JO083", ["across", "reaches nowhere"]),
        ('sd     = "2"', 'sd = "2 deg"', "JO011", ["obstructions", "another kind"]),
        ('tolerance = "0.2"', 'tolerance = "0"', "JO012", ["parts.tolerance", "more than 0"]),
        (
            'room      = "4"\nslot',
            'room = "500"\nslot',
            "JO086",
            ["subroadbed.room", "'500'", "100 mm at most"],
        ),
        ('kerf      = "1.2"', 'kerf = "1.2 in"', "JO086", ["subroadbed.kerf", "1.2 in", "10 mm at most"]),
        (
            'tolerance = "0.2"',
            'tolerance = "50"',
            "JO086",
            ["parts.tolerance", "'50'", "less than the thickest packing, 3 mm"],
        ),
        ('hand      = "80"', 'hand = "5000"', "JO086", ["parts.hand", "'5000'", "20 to 300 mm"]),
        ('hand      = "80"', 'hand = "3"', "JO086", ["parts.hand", "'3'", "20 to 300 mm"]),
        ('length = "16"', 'length = "16 cm"', "JO086", ["ties.length", "'16 cm'", "at most"]),
        ('hand      = "80"', 'hands = "80"', "JO001", ["Did you mean 'hand'?"]),
        ('paper  = "Letter"', 'paper = "A3"', "JO003", ["printer.paper", "'A3'", "'A4' or 'Letter'"]),
        ('across = "149.6"', 'across = "140"', "DR001", ["printer.across", "140", "145.5 to 154.5"]),
        ('down   = "200.1"', 'down = "5.9 in"', "DR001", ["printer.down", "5.9 in", "100 %"]),
    ],
)
def test_what_cannot_be_meant(board, old, new, code, says):
    line = board.line_of(old)
    board.replace(old, new)
    error = board.error()
    assert error.code == code, str(error)
    assert [word for word in says if word not in str(error)] == [], str(error)
    found = re.search(r", line (\d+)", str(error))
    assert found, str(error)
    if code not in ("JO002", "JO017"):
        assert int(found[1]) in (line, line + 1), str(error)


@pytest.mark.parametrize("table", ["subroadbed", "parts"])
def test_a_board_needs_a_bridge(job, table):
    job.text = job.text[: job.text.index("[bridge]")]
    job.text += {
        "subroadbed": '\n[subroadbed]\nthickness = { is = "12", by = "caliper" }\n', "parts": "\n[parts]\n"
    }[table]  # fmt: skip
    error = job.error()
    assert error.code == "JO050"
    assert f"[{table}], but no [bridge]" in str(error)
