"""Handrails and details of a span, and where a support is told to stand, in the job file."""

import pytest

from spanwright.errors import InputError

SPAN = 'length = "95.1"\n'
ABUTMENT = 'base       = "g2"\n'
RAIL = 'handrail = { side = "wall", offset = ["15.1", "15.3"], height = { is = "7", by = "nominal" } }\n'
BENT = 'base         = ["g3", "g4"] '


def values(job, size):
    return [job.inputs[key].value for key in size.ids]


def error(load, text, *changes):
    with pytest.raises(InputError) as caught:
        load(text, *changes)
    assert "\n" not in str(caught.value)
    return caught.value


def test_a_span_without_details_has_the_usual_ones(load, template):
    span = load(template).structures.spans[0]
    assert (span.handrail_side, span.handrail_offset, span.handrail_height) == ("", None, None)
    assert (span.stiffeners, span.plate, span.rivet_pitch, span.rivet_height) == (8, 0.5, 3.0, 0.15)


def test_handrail(load, template):
    job = load(template, (SPAN, SPAN + RAIL))
    span, other = job.structures.spans
    assert (span.handrail_side, other.handrail_side) == ("right", "")  # the wall is right in the template
    assert values(job, span.handrail_offset) == [15.1, 15.3]
    assert values(job, span.handrail_height) == [7.0]
    assert span.handrail_offset.ids == ("spans/span A/handrail/offset", "spans/span A/handrail/offset/2")
    height = job.inputs["spans/span A/handrail/height"]
    assert (height.sd, height.kind) == (pytest.approx(0.08 * 7), "size")
    assert "handrail above the ties of span A" in height.label


@pytest.mark.parametrize(("word", "side"), [("aisle", "left"), ("both", "both")])
def test_sides_of_a_handrail(load, template, word, side):
    job = load(template, (SPAN, SPAN + RAIL.replace("wall", word)))
    assert job.structures.spans[0].handrail_side == side


def test_details_of_a_span(load, template):
    own = 'stiffeners = 0\nplate = "0.6"\nrivet_pitch = "1/8\\""\nrivet_height = "0.2"\n'
    span = load(template, (SPAN, SPAN + own)).structures.spans[0]
    assert (span.stiffeners, span.plate, span.rivet_pitch, span.rivet_height) == (0, 0.6, 3.175, 0.2)


def test_a_span_without_rivets(load, template):
    assert load(template, (SPAN, SPAN + 'rivet_pitch = "0"\n')).structures.spans[0].rivet_pitch == 0.0


@pytest.mark.parametrize(
    ("added", "code", "words"),
    [
        (RAIL.replace("wall", "north"), "JO015", ["'north'", "handrail.side", "aisle, wall"]),
        (RAIL.replace("wall", "left"), "JO015", ["'left'"]),
        ('handrail = { side = "wall", offset = "15" }\n', "JO002", ["'height'"]),
        ('handrail = { side = "wall", offset = "15", hight = "7" }\n', "JO001", ["hight", "'height'"]),
        ('handrail = "wall"\n', "JO004", ["handrail"]),
        (RAIL.replace('["15.1", "15.3"]', '"-15"'), "JO012", ["'-15'", "more than 0"]),
        (RAIL.replace('["15.1", "15.3"]', '"15 deg"'), "UN001", ["'15 deg'"]),
        (RAIL.replace("nominal", "nominel"), "JO014", ["'nominel'"]),
        ("stiffeners = -1\n", "JO004", ["-1"]),
        ("stiffeners = 2.5\n", "JO004", ["2.5"]),
        ('stiffeners = "8"\n', "JO004", ["'8'"]),
        ('plate = "0"\n', "JO012", ["'0'", "more than 0"]),
        ('plate = "-0.5"\n', "JO012", ["'-0.5'"]),
        ('plate = "thin"\n', "UN001", ["'thin'"]),
        ('rivet_pitch = "-3"\n', "JO012", ["'-3'", "negative"]),
        ('rivet_pitch = "0.1"\n', "JO059", ["'0.1'", "0.6 mm"]),
        ('rivet_pitch = "1"\nrivet_height = "0.3"\n', "JO059", ["'1'", "1.2 mm"]),
        ('rivet_height = "0"\n', "JO012", ["'0'"]),
        ("rivet_height = true\n", "JO004", ["rivet_height"]),
    ],
)
def test_spans_that_cannot_be_meant(load, template, added, code, words):
    found = error(load, template, (SPAN, SPAN + added))
    assert found.code == code, str(found)
    assert "line " in str(found)
    for word in words:
        assert word in str(found)


def test_a_support_told_where_to_stand(load, template):
    town, bent, yard = load(template, (ABUTMENT, ABUTMENT + 'along = "98.5"\n')).structures.supports
    assert (town.along, bent.along, yard.along) == (None, None, 98.5)
    assert (
        load(template, (ABUTMENT, ABUTMENT + 'along = "-4 1/2\\""\n')).structures.supports[2].along == -114.3
    )
    far = load(template, (ABUTMENT, ABUTMENT + 'along = "50 ft proto"\n')).structures.supports[2].along
    assert far == pytest.approx(50 * 304.8 / 160)


@pytest.mark.parametrize(
    ("changes", "code", "words"),
    [
        ([(ABUTMENT, ABUTMENT + 'along = "far"\n')], "UN001", ["'far'", "supports[3]"]),
        ([(ABUTMENT, ABUTMENT + 'along = "4 deg"\n')], "UN001", ["'4 deg'"]),
        ([(ABUTMENT, ABUTMENT + 'allong = "4"\n')], "JO001", ["allong", "'along'"]),
        ([(BENT, f'along = "3"\n{BENT}')], "JO058", ["'3'", "where the lines cross"]),
    ],
)
def test_supports_that_cannot_stand_there(load, template, changes, code, words):
    found = error(load, template, *changes)
    assert found.code == code, str(found)
    for word in words:
        assert word in str(found)


PIER = 'cap_across = "20"\n'


def test_a_bridge_must_be_tied_to_the_crossing(load, template):
    start, end = template.index('form         = "level'), template.index('[[supports]]\nname       = "yard')
    pier = template[:start] + template[end:]
    pier = pier.replace(
        'kind         = "straddle bent"',
        f'kind = "pier"\nshaft_along = "5"\nshaft_across = "15"\n{PIER}cap = "3"\ncap_along = "12"',
    )
    pier = pier.replace('["g3", "g4"]', '"g3"')
    found = error(load, pier)
    assert found.code == "JO055"
    assert "nothing says where the supports stand" in str(found)
    assert 'along = "..."' in str(found)
    assert "towards yard" in str(found)
    job = load(pier, (PIER, PIER + 'along = "-20"\n'))
    assert job.structures.supports[1].along == -20.0
