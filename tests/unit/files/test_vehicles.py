"""Vehicles in the job file: five numbers, three trucks, like one of the handbook; gauges."""

import numpy as np
import pytest

from spanwright.clearance.gauges.given import GaugeOf
from spanwright.job import derive

OUTLINE = 'outline = [["3", "14"], ["6", "19.5"], ["29", "19.5"], ["33", "12"]]'
FIVE = 'five = { height = "36.6", foot = "17", waist = "20.2", eaves = "20", roof = "13" }'
BOXCAR = "boxcar 50 ft, North America, 1950s"
LIKE = f'like = "{BOXCAR}"'
LENGTH = 'length  = "115"\ntrucks  = "84"\n'
BY = 'by      = "caliper"\nlength'


def vehicle(job):
    return job.load().clearance.runs[0].vehicle


def like(job, more="", by=""):
    """The template's vehicle with its sizes from the handbook."""
    job.replace(OUTLINE, f"{LIKE}\n{more}")
    job.replace(LENGTH, "")
    return job.replace('runs_on = ["lower", "upper"]\nby      = "caliper"\n', f'runs_on = ["lower"]\n{by}')


def corners(found):
    return found.bodies[0].prisms[0].section


# ---------------------------------------------------------------- five numbers


def test_five_numbers_with_their_heights(job):
    heights = 'foot_height = "3", waist_height = "6", eaves_height = "33.5" }'
    job.replace(OUTLINE, FIVE.replace(" }", f", {heights}"))
    found = vehicle(job)
    right = [[-8.5, 3], [-10.1, 6], [-10, 33.5], [-6.5, 36.6]]
    assert corners(found) == pytest.approx(np.array([*right, *([-y, z] for y, z in right[::-1])]))
    assert found.notes == ()


def test_heights_by_proportion_are_said(job):
    job.replace(OUTLINE, FIVE)
    found = vehicle(job)
    heights = sorted(set(corners(found)[:, 1]))
    assert heights == pytest.approx([0.08 * 36.6, 0.15 * 36.6, 0.92 * 36.6, 36.6])
    (note,) = found.notes
    assert "foot, waist and eaves heights" in note
    assert "common practice, no source" in note


@pytest.mark.parametrize(
    ("text", "code", "says"),
    [
        (FIVE.replace(', roof = "13"', ""), "JO060", ["five numbers lack roof", "five = {"]),
        ('five = { height = "36" }', "JO060", ["lack foot, waist, eaves, roof"]),
        (FIVE.replace(" }", ', eaves_height = "40" }'), "HB007", ["not in order", "36.6", "eaves_height"]),
        (FIVE.replace("36.6", "0"), "JO012", ["five.height", "more than 0"]),
        (FIVE.replace('"17"', '"-17"'), "JO012", ["five.foot", "'-17'"]),
        (FIVE.replace("roof", "ridge"), "JO001", ["'ridge'", "roof"]),
        (f"{FIVE}\n{OUTLINE}", "JO060", ["one of them only"]),
        (FIVE.replace("36.6", "366"), "JO068", ["too tall for a model"]),
    ],
)
def test_five_numbers_that_cannot_be_meant(job, text, code, says):
    job.replace(OUTLINE, text)
    error = job.error()
    assert error.code == code, str(error)
    assert [word for word in says if word not in str(error)] == [], str(error)


# ---------------------------------------------------------------- trucks


def test_three_trucks_are_swept_by_the_outer_ones(job):
    job.replace('trucks  = "84"', 'trucks  = ["40", "44"]')
    found = vehicle(job)
    assert found.bodies[0].truck_spacing == 84.0
    assert found.notes == (
        "tall boxcar stands on three trucks: it is swept by its outer trucks, the middle one follows",
    )


def test_a_middle_truck_that_cannot_slide_so_far_is_told(job):
    job.replace('trucks  = "84"', 'trucks  = ["40", "44"]\nmiddle_play = "0.1"')
    body = vehicle(job).bodies[0]
    assert (body.between, body.between_play) == ((-2.0,), 0.1)
    found = [f for f in derive(job.load()).findings if f.code == "CL108"]
    assert found
    assert all("tall boxcar" in f.where and f.text.endswith("it has 0.10 mm") for f in found)


@pytest.mark.parametrize("play", ["1", "-1"])
def test_a_play_of_the_middle_truck_that_cannot_be_meant(job, play):
    trucks = '"84"' if play == "1" else '["40", "44"]'
    job.replace('trucks  = "84"', f'trucks  = {trucks}\nmiddle_play = "{play}"')
    error = job.error()
    assert error.code in ("JO061", "JO012")
    assert "middle_play" in str(error)


@pytest.mark.parametrize(
    ("trucks", "code", "says"),
    [
        ('["60", "60"]', "JO061", ["further apart than it is long", "115 mm"]),
        ('["40", "0"]', "JO012", ["trucks", "more than 0"]),
        ("[]", "JO004", ["one value at least"]),
        ('["80", "4"]\ntruck_wheelbase = "10"', "JO061", ["wheelbase of one truck"]),
    ],
)
def test_trucks_that_cannot_be_meant(job, trucks, code, says):
    job.replace('trucks  = "84"', f"trucks  = {trucks}")
    error = job.error()
    assert error.code == code, str(error)
    assert [word for word in says if word not in str(error)] == [], str(error)


# ---------------------------------------------------------------- like one of the handbook


def test_sizes_come_from_the_handbook_and_are_said_to(job):
    loaded = like(job).load()
    found = loaded.clearance.runs[0].vehicle
    body = found.bodies[0]
    foot = 304.8 / 160
    assert body.truck_spacing == pytest.approx(40 * foot + 10 * foot / 12)
    assert body.truck_wheelbase == pytest.approx(5.5 * foot)
    assert body.front - body.rear == pytest.approx(51.75 * foot)
    assert np.ptp(corners(found)[:, 0]) == pytest.approx(10 * foot + 4 * foot / 12)
    assert corners(found)[:, 1].max() == pytest.approx(15 * foot + 0.3)  # 15 ft, and as models ride
    assert corners(found)[:, 1].min() == pytest.approx(2.5 * foot)  # its foot may be where scale has it
    (note,) = found.notes
    for word in (BOXCAR, "not all its sizes are measured", "0.3 mm", "common practice, no source"):
        assert word in note
    inputs = {i.id: i for i in loaded.inputs.items if i.id.startswith("vehicles/")}
    assert {key.rpartition("/")[2]: i.sd for key, i in inputs.items()} == {
        "width": 0.2,
        "height": 0.3,
        "length": 0.5,
        "trucks": 0.5,
    }
    assert all("from the handbook" in i.label for i in inputs.values())


def test_measured_sizes_take_the_place_of_the_handbooks(job):
    more = 'length = "100"\nfive = { height = "30" }\nsd = { trucks = "0.3" }'
    loaded = like(job, more, by='by = "caliper"\n').load()
    found = loaded.clearance.runs[0].vehicle
    foot = 304.8 / 160
    assert found.bodies[0].front == 50.0
    assert corners(found)[:, 1].max() == 30.0  # measured: it is not raised
    assert sorted(set(corners(found)[:, 1].round(9)))[2] == pytest.approx(14 * foot * 30 / (15 * foot))
    sds = {i.id.rpartition("/")[2]: i.sd for i in loaded.inputs.items if i.id.startswith("vehicles/")}
    assert sds == {"width": 0.2, "height": pytest.approx(0.05), "length": pytest.approx(0.05), "trucks": 0.3}
    (note,) = found.notes
    assert "but for what length and five here say" in note
    assert "ride higher" not in note


def test_a_taller_model_has_no_higher_foot(job):
    like(job, 'five = { height = "31" }', by='by = "caliper"\n')
    assert corners(vehicle(job))[:, 1].min() == pytest.approx(2.5 * 304.8 / 160)


def test_sections_of_the_handbook_are_raised_and_keep_their_hollows(job):
    like(job).replace(BOXCAR, "well car with two containers, North America, 1990s")
    found = vehicle(job)
    foot = 304.8 / 160
    ends, well, _ = found.bodies[0].prisms
    assert (ends.rear, ends.front) == pytest.approx((-38 * foot, -27 * foot))
    assert well.section[:, 1].min() == pytest.approx(10 / 12 * foot)
    assert well.section[:, 1].max() == pytest.approx(20.25 * foot + 0.3)
    at_top = well.section[well.section[:, 1] > 10 * foot]
    assert np.ptp(at_top[:, 0]) == pytest.approx(8.5 * foot)


def test_three_trucks_of_the_handbook(job):
    like(job).replace(BOXCAR, "six-axle electric engine on three trucks, continental Europe, 1990s")
    found = vehicle(job)
    assert found.bodies[0].truck_spacing == pytest.approx(10400 / 160)
    assert any("three trucks" in note for note in found.notes)


@pytest.mark.parametrize(
    ("change", "code", "says"),
    [
        ((LIKE, 'like = "boxcar 50 feet"'), "JO090", ["'boxcar 50 feet'", BOXCAR, "48 vehicles"]),
        ((LIKE, f'{LIKE}\nlength = "100"'), "JO017", ["measured with", 'by = "caliper"']),
        (
            (LIKE, 'like = "caboose with cupola, North America, 1940s"\nlength = "80"'),
            "JO090",
            ["sections, which say its length", "'80'"],
        ),
        (
            (LIKE, 'like = "caboose with cupola, North America, 1940s"\nfive = { height = "28" }'),
            "JO090",
            ["not five numbers to change", "sections of your own"],
        ),
        ((LIKE, f"{LIKE}\n{OUTLINE}\n{FIVE}"), "JO060", ["given as five and as outline"]),
        ((LIKE, f"{LIKE}\nbodies = []"), "JO060", ["like", "each of its bodies"]),
    ],
)
def test_likenesses_that_cannot_be_meant(job, change, code, says):
    like(job).replace(*change)
    error = job.error()
    assert error.code == code, str(error)
    assert [word for word in says if word not in str(error)] == [], str(error)


# ---------------------------------------------------------------- gauges

MARGIN = 'margin = { side = "1.5", above = "2" }'
OWN = """
[[gauges]]
name = "club"
lines = ["lower"]
note = "as agreed"
polygon = [["-12", "0"], ["12", "0"], ["12", "38"], ["-12", "38"]]
"""


def test_gauges_by_name_and_of_ones_own(job):
    job.replace(MARGIN, f'{MARGIN}\ngauges = ["NEM 102, group B", "AAR plate F", "club"]')
    job.text += OWN
    nem, plate, own = job.load().clearance.gauges
    assert nem.id == "NEM 102 N, group B"
    assert nem.widening is not None
    assert plate.of is GaugeOf.VEHICLE
    assert (own.id, own.lines, own.note, own.source) == ("club", ("lower",), "as agreed", "the builder's own")
    assert own.polygon[:, 1].max() == 38.0


@pytest.mark.parametrize(
    ("names", "own", "code", "says"),
    [
        ('["NEM 120"]', "", "JO091", ["'NEM 120'", "NEM 102, group A", "Did you mean 'NEM 102'?"]),
        ('["NEM 102", "NEM 102 N"]', "", "JO091", ["twice", "NEM 102 N, group C"]),
        ('["NMRA S-7 HO, box"]', "", "JO091", ["for this scale"]),
        ("[]", OWN.replace('"lower"', '"loewr"'), "JO022", ["'loewr'", "Did you mean 'lower'?"]),
        ("[]", OWN.replace(', ["12", "38"], ["-12", "38"]', ""), "JO091", ["2 corners", "three or more"]),
        ("[]", OWN.replace('["12", "38"], ["-12", "38"]', '["-12", "38"], ["12", "38"]'), "JO091", ["cross"]),
        ("[]", OWN + OWN, "JO091", ["twice", "'club'"]),
    ],
)
def test_gauges_that_cannot_be_meant(job, names, own, code, says):
    job.replace(MARGIN, f"{MARGIN}\ngauges = {names}")
    job.text += own
    error = job.error()
    assert error.code == code, str(error)
    assert [word for word in says if word not in str(error)] == [], str(error)


def test_gauges_need_no_vehicles(job):
    job.text = job.text[: job.text.index("[clearance]")] + OWN
    settings = job.load().clearance
    assert (settings.runs, [g.id for g in settings.gauges]) == ((), ["club"])


def test_margins_without_vehicles_or_gauges(job):
    job.text = job.text[: job.text.index("[clearance]")] + "[clearance]\n" + MARGIN
    error = job.error()
    assert (error.code, "no vehicles" in str(error)) == ("JO063", True)
