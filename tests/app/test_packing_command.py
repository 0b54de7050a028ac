"""`spanwright packing`: what it prints before and after a bearing is read, and its exit status."""

import json
import re
from pathlib import Path

import jsonschema
import pytest

from spanwright.files.documents.packing_json import packing_schema
from truth import demo

SHELF = """
[shelf]
by     = "caliper"
glue   = { is = "0.03", sd = "0.01" }
layers = 4
sheets = [
  { name = "tape", thickness = { is = "0.13", sd = "0.01" } },
  { name = "styrene 10", thickness = "0.26", count = 12 },
  { name = "styrene 20", thickness = "0.51", count = 12 },
  { name = "styrene 30", thickness = "0.76", count = 12 },
  { name = "styrene 40", thickness = "1.02", count = 12 },
]
"""
#: Pier 1 came out 1.8 mm lower than it was to be cut; the gap under one of its shoes was read.
LOW = """
[[made]]
part   = "pier 1"
state  = "built"
cut_to = "47.4"

[[measured]]
what = "pier 1/span A/aisle/packing"
is   = "2.95"
by   = "feeler"
"""


@pytest.fixture
def demo_text():
    """The demo without its own shelf, which is the last of its tables."""
    bare, found, shelf = Path(demo.SHIPPED).read_text(encoding="utf-8").partition("\n[shelf]")
    assert found
    assert "\n[" not in shelf
    return bare


def test_nothing_is_packed_before_it_is_measured(cli, make_job, demo_text):
    done = cli("packing", make_job(text=demo_text + SHELF))
    assert done.status == 0
    assert "12 bearings wait for a reading." in done.out
    rows = re.findall(r", (?:aisle|wall) +(\d\.\d\d) ± (\d\.\d\d) +(\d\.\d\d) to (\d\.\d\d)", done.out)
    assert len(rows) == 12
    for value, wide, low, high in (map(float, row) for row in rows):
        assert (low, high) == pytest.approx((value - wide, value + wide), abs=0.011)
    assert "Left on the shelf" not in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 100


def test_a_pier_set_too_low_gets_its_list_from_the_shelf(cli, make_job, demo_text):
    done = cli("packing", make_job(text=demo_text + SHELF + LOW))
    assert "4 bearings packed" in done.out
    assert "proven best, all limits kept. 8 bearings wait" in done.out
    rows = [line for line in done.out.splitlines() if "styrene" in line and "pier 1" in line]
    assert len(rows) == 4
    assert all(
        abs(float(re.findall(r"(-?\d+\.\d+) ± ", row)[-1])) <= 0.07 for row in rows
    )  # half the thinnest sheet
    assert re.search(r"CAUTION: cut sheet with a sharp blade", done.out)
    assert "NO" not in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 100
    assert done.status == 0


def test_without_a_shelf_it_says_what_to_list(cli, make_job, demo_text):
    done = cli("packing", make_job(text=demo_text + LOW))
    assert "4 bearings can be packed: list your sheets under [shelf]." in done.out
    assert re.search(r"pier 1, span A, aisle +2\.9[45]\d* ± 0\.\d+", done.out)  # read as 2.95


def test_sides_are_the_builders(cli, make_job, other_words):
    out = cli("packing", make_job(text=other_words)).out
    rest = out.replace("window is left", "").replace("door is right", "")
    assert not re.search(r"\b(left|right)\b", rest.replace("right about 19", ""))


def test_a_job_without_a_bridge(cli, make_job, without_bridge):
    done = cli("packing", make_job(text=without_bridge))
    assert done.status == 2
    assert "no bridge yet" in done.err


@pytest.fixture(scope="module")
def validator():
    found = packing_schema()
    jsonschema.Draft202012Validator.check_schema(found)
    return jsonschema.Draft202012Validator(found)


@pytest.mark.parametrize("more", ["", SHELF, LOW, SHELF + LOW], ids=["bare", "shelf", "low", "both"])
def test_the_document_holds_to_its_schema(cli, make_job, demo_text, validator, more):
    done = cli("packing", make_job(text=demo_text + more), "--json")
    found = json.loads(done.out)
    validator.validate(found)
    assert done.status == 0
    assert len(found["bearings"]) == 12
    known = [b for b in found["bearings"] if b["known"]]
    assert len(known) == (4 if LOW in more else 0)
    for b in known if more == SHELF + LOW else ():
        assert b["comes_out"]["value"] - b["wanted"]["value"] == pytest.approx(b["off"]["value"], abs=1e-9)
        assert b["lift"]["value"] == pytest.approx(b["off"]["value"], abs=1e-6)
        assert 1 <= sum(s["pieces"] for s in b["sheets"]) <= 4
    used = sum(s["pieces"] for b in found["bearings"] for s in b["sheets"] if s["sheet"] == "styrene 40")
    left = {row["sheet"]: row["pieces"] for row in found["left"]}
    if left:
        assert (left["tape"], left["styrene 40"]) == (None, 12 - used)
    assert all(rule["kept"] for rule in found["limits"])


#: One sheet, far too thick to meet any height; the span's own gap hardly keeps its margin as planned.
COARSE = """
[shelf]
by     = "caliper"
sheets = [ { name = "board", thickness = "0.50" } ]
"""
STANDS = "".join(
    f'\n[[made]]\npart = "{part}"\nstate = "built"\ncut_to = {cut}\n'
    for part, cut in (("pier 1", '"49.2"'), ("bent", '["50.8", "51.3"]'))
) + "".join(
    f'\n[[measured]]\nwhat = "{bearing}/packing"\nis = "{thick}"\nby = "feeler"\n'
    for bearing, thick in (
        ("pier 1/span B/aisle", 1.30),
        ("pier 1/span B/wall", 1.65),
        ("bent/span B/aisle", 1.2),
        ("bent/span B/wall", 1.6),
    )
)


def test_gaps_under_a_span_that_is_packed_off_its_height_are_told_again(cli, make_job, demo_text, validator):
    text = demo_text.replace('above = "1.5"', 'above = "5.5"') + COARSE + STANDS
    job = make_job(text=text)
    done = cli("packing", job)
    assert done.status == 1
    told = " ".join(done.out.split())
    assert "Gaps under the spans as packed (mm)" in told
    assert "tight, was clear" in told
    assert "PK106 clearance, lower, well car with two boxes, span B, aisle girder" in told
    found = json.loads(cli("packing", job, "--json").out)
    validator.validate(found)
    (worse,) = [gap for gap in found["gaps"] if gap["verdict"] != gap["was"]]
    assert (worse["was"], worse["verdict"]) == ("clear", "tight")
    off = [b["lift"]["value"] for b in found["bearings"] if "/span B/" in b["id"]]
    change = worse["as_packed"]["value"] - worse["planned"]["value"]
    assert min(off) - 0.01 <= change <= max(off) + 0.01
