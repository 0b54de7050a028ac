"""An edit of a job file changes one value and nothing else."""

import tomllib

import pytest

from spanwright.files.edit import difference, with_value, without

TEXT = """# a job
name = "x"   # its name

[lines.upper]
track = "flexible"   # laid

[[supports]]
name  = "bent"   # the straddle bent
cap   = { is = "4.0", by = "to be cut" }   # not made yet
clear = { aisle = "16.2", wall = "15.2" }

[[supports]]
name = "pier"
"""


@pytest.mark.parametrize(
    ("keys", "value", "line"),
    [
        (("supports", 0, "cap"), "2.1 mm", 'cap   = { is = "2.1 mm", by = "to be cut" }   # not made yet'),
        (("supports", 0, "clear", "wall"), "17 mm", 'clear = { aisle = "16.2", wall = "17 mm" }'),
        (("supports", 1, "shift"), "3 mm", 'shift = "3 mm"'),
        (("lines", "upper", "raise"), "1.9 mm", 'raise = "1.9 mm"'),
    ],
)
def test_one_value_is_set_and_the_rest_stays(keys, value, line):
    edited = with_value(TEXT, keys, value)
    assert line in edited.splitlines()
    assert [x for x in edited.splitlines() if "#" in x and x not in TEXT.splitlines()] == (
        [line] if "#" in line else []
    )
    changed = [
        x for x in difference(TEXT, edited, "job.toml") if x[:1] in "+-" and x[:3] not in ("+++", "---")
    ]
    assert len(changed) <= 2


def test_a_table_that_is_missing_is_made():
    edited = with_value(TEXT, ("lines", "lower", "raise"), "1 mm")
    assert tomllib.loads(edited)["lines"]["lower"] == {"raise": "1 mm"}


def test_an_entry_is_taken_out():
    assert [s["name"] for s in tomllib.loads(without(TEXT, ("supports", 1)))["supports"]] == ["bent"]


def test_no_change_has_no_difference():
    assert difference(TEXT, TEXT, "job.toml") == []
