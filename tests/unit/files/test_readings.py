"""What becomes of each kind of reading: marks, sign, doubt, shared errors, surfaces."""

import math

import pytest

from spanwright.survey.readings import DatumKind, Face, Kind, Rail

CALIPER, TAPE, LEVEL, FEELER = 0.05, 0.7, 0.4, 0.1


def reading(loaded, key):
    return next(r for r in loaded.survey.readings if r.id == key)


@pytest.fixture
def with_reading(job):
    """Load the template with one more reading of a kind that it has only as a comment."""

    def load(kind, entry):
        job.replace("# More kinds", f"{kind} = [ {entry} ]\n# More kinds")
        return job.load()

    return load


def test_marks(job):
    marks = {
        m.name: m for m in job.replace('reach = "0"', 'reach = "5", reach_to = "wall"').load().survey.marks
    }
    assert list(marks)[:6] == ["P1", "P2", "P3", "P4", "g1", "g2"]
    assert (marks["P1"].line, marks["P1"].rail, marks["P1"].rough) == ("", None, None)
    assert (marks["a1"].line, marks["a1"].rail, marks["a1"].face) == ("lower", Rail.LEFT, Face.INNER)
    assert (marks["b1"].rail, marks["b1"].face, marks["b1"].reach) == (Rail.BOTH, None, -5.0)


def test_rough_places_keep_the_rest_of_the_mark(job):
    job.replace("[datum]", '[marks.rough]\na1 = ["100", "-2 cm"]\n[datum]')
    mark = next(m for m in job.load().survey.marks if m.name == "a1")
    assert (mark.rough, mark.rail, mark.face) == ((100.0, -20.0), Rail.LEFT, Face.INNER)


def test_datums(job):
    minimal = job.load().survey.datum
    assert (minimal.kind, minimal.at, minimal.towards, minimal.height) == (
        DatumKind.MINIMAL,
        "P1",
        "P2",
        "P1",
    )
    three = 'at      = "P1"\ntowards = "P2"\nheight  = "P1"'
    job.replace(three, 'fixed = { P1 = { x = "0", y = 1, z = "2" }, P2 = { y = "1 cm" } }')
    loaded = job.load().survey
    fixed, fixed_marks = loaded.datum, [mark.name for mark in loaded.marks]
    assert fixed.kind is DatumKind.FIXED
    assert fixed.fixed == (("P1", "x", 0.0), ("P1", "y", 1.0), ("P1", "z", 2.0), ("P2", "y", 10.0))
    job.text = job.text.replace("fixed = { P1", "free = true # { P1")
    error = job.error()
    assert error.code == "JO028"
    assert "no rough place of P1, P2" in str(error)
    assert "datum.free" in str(error)
    rough = ", ".join(f'{name} = ["{k}", "{k * k}"]' for k, name in enumerate(fixed_marks))
    job.replace("# Rough places", f"rough = {{ {rough} }}\n# Rough places")
    assert job.load().survey.datum.kind is DatumKind.FREE


def test_two_readings_are_two_inputs(job):
    loaded = job.load()
    assert [loaded.inputs[k].value for k in ("h21", "h21/2")] == [72.1, 71.8]
    assert [reading(loaded, k).marks for k in ("h21", "h21/2")] == [("b1", "P1")] * 2
    assert loaded.inputs["h21"].sd == LEVEL
    assert loaded.inputs["h21"].kind == "reading"


def test_a_reading_may_have_its_own_doubt_and_note(job):
    loaded = job.replace('is = "407.5"', 'is = "407.5", sd = "2", note = "round a joist"').load()
    assert loaded.inputs["d11"].sd == 2.0
    assert "round a joist" in loaded.inputs["d11"].label


def test_tool_errors_are_shared(job):
    job.replace('level   = { sd = "0.4" }', 'level = { sd = "0.4", zero = "0.2" }')
    loaded = job.load()
    assert loaded.survey.shared == ("tool/tape/scale", "tool/level/zero")
    assert (loaded.inputs["tool/tape/scale"].sd, loaded.inputs["tool/tape/scale"].unit) == (0.0005, "1")
    assert (loaded.inputs["tool/level/zero"].sd, loaded.inputs["tool/level/zero"].value) == (0.2, 0.0)
    assert (reading(loaded, "d11").scale, reading(loaded, "d11").zero) == ("tool/tape/scale", "")
    assert (reading(loaded, "h21").scale, reading(loaded, "h21").zero) == ("", "tool/level/zero")


def test_a_tool_that_is_not_listed_has_a_default_that_says_so(job):
    from spanwright.files.builders.tools import default_tools

    assert job.load().inputs["o01"].sd == 0.5
    assert all("common practice, no source" in tool.note for tool in default_tools().values())


def test_held_level(job):
    loaded = job.load()
    assert reading(loaded, "d01").kind is Kind.LEVEL_DISTANCE
    assert reading(loaded, "d11").kind is Kind.DISTANCE


PAST_EDGE = (
    'above = "b3", below = "a3", edge = ["P1", "P2"], edge_to_rail = "18", line_to_rail = "4", by = "plumb"'
)


@pytest.mark.parametrize(
    ("key", "kind", "entry"),
    [
        ("angles", Kind.ANGLE, 'at = "P1", from = "P4", to = "P2", is = "90 deg", by = "bevel"'),
        ("bearings", Kind.BEARING, 'from = "P1", to = "P4", is = "359 deg", by = "bevel"'),
        ("level_angles", Kind.LEVEL_ANGLE, 'from = "b1", to = "b2", is = "1.8 %", by = "digital level"'),
        (
            "blocks",
            Kind.STEPPED_BLOCK,
            'of = "a3", to = "tie", above = "g2", is = "8.7", by = "stepped block"',
        ),
        ("plumb_past_edge", Kind.PLUMB_PAST_EDGE, PAST_EDGE + ', side = "left"'),
    ],
)
def test_kinds(with_reading, key, kind, entry):
    loaded = with_reading(key, f'{{ id = "n1", {entry} }}')
    marks, value, unit = {
        Kind.ANGLE: (("P1", "P4", "P2"), math.pi / 2, "rad"),
        Kind.BEARING: (("P1", "P4"), math.radians(359), "rad"),
        Kind.LEVEL_ANGLE: (("b1", "b2"), math.atan(0.018), "rad"),
        Kind.STEPPED_BLOCK: (("a3", "g2"), 8.7, "mm"),
        Kind.PLUMB_PAST_EDGE: (("b3", "a3", "P1", "P2"), 22.0, "mm"),
    }[kind]
    found = reading(loaded, "n1")
    assert (found.kind, found.marks) == (kind, marks)
    assert loaded.inputs["n1"].value == pytest.approx(value, rel=1e-15)
    assert loaded.inputs["n1"].unit == unit


def test_plumb_past_an_edge_to_the_right(with_reading):
    loaded = with_reading("plumb_past_edge", f'{{ id = "n1", {PAST_EDGE}, side = "right" }}')
    assert reading(loaded, "n1").marks == ("b3", "a3", "P2", "P1")
    assert loaded.inputs["n1"].value == 22.0


def test_plumb_past_an_edge_adds_two_readings_and_two_doubts(job):
    job.replace("[tools]", '[tools]\nplumb = { sd = "0.5", zero = "0.3" }')
    entry = '{ id = "n1", above = "b3", below = "a3", edge = ["P1", "P2"], side = "left", by = "plumb",'
    entry += ' edge_to_rail = ["18", "18.5"], line_to_rail = ["4", "4.5"] }'
    loaded = job.replace("# More kinds", f"plumb_past_edge = [ {entry} ]\n# More kinds").load()
    assert [loaded.inputs[k].value for k in ("n1", "n1/2")] == [22.0, 23.0]
    assert loaded.inputs["n1"].sd == pytest.approx(math.sqrt(2 * 0.5**2 + (2 * 0.3) ** 2))
    assert reading(loaded, "n1").zero == ""


def test_plumb_past_an_edge_needs_pairs(job):
    entry = '{ id = "n1", above = "b3", below = "a3", edge = ["P1", "P2"], side = "left", by = "plumb",'
    entry += ' edge_to_rail = ["18", "18.5"], line_to_rail = "4" }'
    error = job.replace("# More kinds", f"plumb_past_edge = [ {entry} ]\n# More kinds").error()
    assert error.code == "JO042"
    assert "read 1; expected 2" in str(error)


def test_a_plumb_is_two_readings(with_reading):
    loaded = with_reading("plumbs", '{ id = "n1", upper = "b3", over = "P3", dx = "-2", by = "plumb" }')
    assert [(reading(loaded, f"n1/{a}").kind, loaded.inputs[f"n1/{a}"].value) for a in "xy"] == [
        (Kind.PLUMB_X, -2.0),
        (Kind.PLUMB_Y, 0.0),
    ]
    assert reading(loaded, "n1/x").marks == ("b3", "P3")


def test_setting_aside_takes_all_readings_of_an_id(job):
    assert job.replace("set_aside = []", 'set_aside = ["h21", "h22/2"]').load().survey.set_aside == {
        "h21",
        "h21/2",
        "h22/2",
    }


def test_coordinates(with_reading):
    entry = '{ id = "n1", of = "a1", x = ["800", "801"], z = "8", to = "tie", by = "tape" }'
    loaded = with_reading("coordinates", entry)
    assert [loaded.inputs[k].value for k in ("n1/x", "n1/x/2", "n1/z")] == [800.0, 801.0, 8.0]
    assert {key for key, _ in reading(loaded, "n1/z").drops} == {"layers/rail", "layers/rail/2"}
    assert reading(loaded, "n1/x").drops == ()


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ('of = "a1"', "no coordinate"),
        ('of = "a1", x = "3", to = "tie"', "'tie'"),
        ('of = "a1", z = "3"', "surface"),
    ],
)
def test_coordinates_that_say_too_little(job, entry, words):
    text = f'coordinates = [ {{ id = "n1", {entry}, by = "tape" }} ]\n# More kinds'
    assert words in str(job.replace("# More kinds", text).error())


# ---------------------------------------------------------------- sides


@pytest.mark.parametrize(("side", "ends"), [("left", ("P1", "P2")), ("right", ("P2", "P1"))])
def test_the_right_of_a_string_is_the_left_of_its_reverse(job, side, ends):
    loaded = job.replace('side = "left", is = "250.5"', f'side = "{side}", is = "250.5"').load()
    assert reading(loaded, "o01").marks == ("a1", *ends)
    assert loaded.inputs["o01"].value == 250.5


@pytest.mark.parametrize(
    ("chord", "towards", "ends"),
    [
        (("b2", "b6"), "aisle", ("b2", "b6")),
        (("b2", "b6"), "wall", ("b6", "b2")),
        (("b6", "b2"), "aisle", ("b2", "b6")),
        (("b6", "b2"), "wall", ("b6", "b2")),
        (("b6", "b2"), "left", ("b6", "b2")),
        (("b6", "b2"), "right", ("b2", "b6")),
    ],
)
def test_a_versine_towards_a_side_of_the_line(job, chord, towards, ends):
    first, second = chord
    job.replace('chord = ["b2", "b6"]', f'chord = ["{first}", "{second}"]')
    loaded = job.replace('towards = "wall"', f'towards = "{towards}"').load()
    assert reading(loaded, "v01").kind is Kind.VERSINE
    assert reading(loaded, "v01").marks == ("b4", *ends)
    assert loaded.inputs["v01"].value == 11.0


def test_cross_level_by_feeler(job):
    job.replace(
        'is = "1.0", reach = "100", high = "wall"', 'is = ["1.0", "1.1"], reach = "100", high = "aisle"'
    )
    loaded = job.load()
    found = reading(loaded, "c01")
    assert found.kind is Kind.CROSS_LEVEL_FEELER
    assert (found.marks, found.reach, found.rail_distance) == (("b3",), 100.0, pytest.approx(9.02 + 0.6))
    assert loaded.inputs["c01/2"].value == -1.1  # right above left: the aisle is left
    assert loaded.inputs["c02"].value == 1.2
    assert (loaded.inputs["c01"].sd, loaded.inputs["c01"].unit) == (FEELER, "mm")


def test_cross_level_by_angle(job):
    by_angle = 'is = "1.2 deg", high = "wall", by = "digital level"'
    job.replace('is = "1.0", reach = "100", high = "wall", by = "feeler"', by_angle)
    loaded = job.load()
    found = reading(loaded, "c01")
    assert found.kind is Kind.CROSS_LEVEL_ANGLE
    assert found.reach == found.rail_distance == pytest.approx(9.62)
    assert loaded.inputs["c01"].value == pytest.approx(math.radians(1.2))
    assert loaded.inputs["c01"].sd == pytest.approx(math.radians(0.1))


def test_a_level_cross_level_needs_no_side(job):
    job.replace('is = "1.0", reach = "100", high = "wall", by = "feeler"', 'is = 0, by = "digital level"')
    assert job.load().inputs["c01"].value == 0.0


# ---------------------------------------------------------------- surfaces


@pytest.mark.parametrize(
    ("to", "start", "wanted"),
    [
        ("railhead", "railhead", {}),
        ("tie", "railhead", {"rail": 1}),
        ("roadbed", "railhead", {"rail": 1, "tie": 1}),
        ("board", "railhead", {"rail": 1, "tie": 1, "roadbed": 1}),
        ("railhead", "tie", {"rail": -1}),
        ("railhead", "board", {"rail": -1, "tie": -1, "roadbed": -1}),
        ("board", "tie", {"tie": 1, "roadbed": 1}),
        ("tie", "tie", {}),
    ],
)
def test_drops_lead_to_the_railheads(job, to, start, wanted):
    old = 'of = "b1", above = "P1", is = ["72.1", "71.8"], to = "railhead"'
    loaded = job.replace(old, f'of = "b1", above = "a1", is = "62", to = "{to}", from = "{start}"').load()
    sums = {}
    for key, factor in reading(loaded, "h21").drops:
        layer = key.split("/")[1]
        sums[layer] = sums.get(layer, 0.0) + factor
    assert sums == pytest.approx(wanted)
    # what the drops stand for: the height between railheads
    true = {"railhead": 0.0, "tie": 1.41, "roadbed": 3.01, "board": 6.01}
    read = 62.0 - true[to] + true[start]
    assert read + sum(loaded.inputs[k].value * f for k, f in reading(loaded, "h21").drops) == pytest.approx(
        62.0
    )


def test_a_missing_layer_is_asked_for(job):
    job.replace('roadbed    = { is = "3", by = "nominal" }\n', "")
    error = job.replace('is = "9.9", to = "railhead"', 'is = "4", to = "board"').error()
    assert error.code == "JO048"
    assert "roadbed" in str(error)


def test_a_nominal_layer_stays_doubtful(job):
    roadbed = job.load().inputs["layers/roadbed"]
    assert roadbed.sd == pytest.approx(0.08 * 3)
    assert roadbed.remedy == "caliper it"


@pytest.mark.parametrize(
    ("written", "sd", "said"),
    [
        ('by = "about 20 %"', 0.6, "not measured, about 20 %"),
        ('by = "unknown, about 12.5 %"', 0.375, "not measured, about 12.5 %"),
        ('by = "unknown", sd = "30 %"', 0.9, "not measured"),
        ('by = "unknown", sd = "0.4 mm"', 0.4, "not measured"),
        ('by = "unknown"', 0.6, "not measured"),
    ],
)
def test_a_size_may_be_unknown(job, written, sd, said):
    job.replace('{ is = "3", by = "nominal" }', f'{{ is = "3", {written} }}')
    roadbed = job.load().inputs["layers/roadbed"]
    assert roadbed.sd == pytest.approx(sd)
    assert roadbed.label.endswith(said)
    assert roadbed.remedy == "caliper it"


@pytest.mark.parametrize("written", ["about 0 %", "about 60 %", "about x %", "about 20"])
def test_a_guess_must_mean_something(job, written):
    error = job.replace('{ is = "3", by = "nominal" }', f'{{ is = "3", by = "{written}" }}').error()
    assert error.code in ("JO010", "JO014", "UN005")
    assert written.removeprefix("about ") in str(error)


def test_nothing_of_the_survey_is_read_by_a_guess(job):
    assert job.replace('is = "407.5", by = "tape"', 'is = "407.5", by = "about 20 %"').error().code == "JO094"


def test_a_zero_error_is_folded_into_sizes(job):
    job.replace('caliper = { sd = "0.05" }', 'caliper = { sd = "0.03", zero = "0.04" }')
    loaded = job.load()
    assert loaded.inputs["layers/rail"].sd == pytest.approx(0.05)
    assert "tool/caliper/zero" not in loaded.inputs


def test_a_size_may_have_its_own_doubt(job):
    job.replace('{ is = "3", by = "nominal" }', '{ is = "3", by = "nominal", sd = "5 %" }')
    assert job.load().inputs["layers/roadbed"].sd == pytest.approx(0.15)
