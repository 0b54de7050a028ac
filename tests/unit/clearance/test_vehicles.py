import numpy as np
import pytest
from clearance_scenes import NARROW_BELOW, RECTANGLE, car
from derived_scenes import scene

from spanwright.clearance.vehicles import Body, Play, Prism, Vehicle, grow, pieces, size_shift, sized
from spanwright.errors import InputError


def prism(section, rear=-50.0, front=50.0):
    return Prism(rear=rear, front=front, section=np.array(section, dtype=float))


@pytest.mark.parametrize(
    ("section", "code", "value"),
    [
        ([[0, 0], [1, 1]], "CL001", "(2, 2)"),
        ([[0, 0], [1, 0], [np.nan, 1]], "CL002", "nan"),
        ([[0, 0], [2, 2], [2, 0], [0, 2]], "CL003", "2.0"),
        ([[0, 0], [1, 0], [2, 0]], "CL003", "1.0"),
        ([[0, -1], [1, -1], [1, 1]], "CL004", "-1.0"),
    ],
)
def test_a_section_that_cannot_be_meant(section, code, value):
    with pytest.raises(InputError) as error:
        prism(section)
    assert error.value.code == code
    assert value in str(error.value)
    assert error.value.where


def test_the_front_is_ahead_of_the_rear():
    with pytest.raises(InputError, match=r"CL005|50\.0, -50\.0"):
        prism(RECTANGLE, rear=50.0, front=-50.0)


@pytest.mark.parametrize(
    ("changes", "value"), [({"truck_spacing": 0.0}, "0.0"), ({"truck_wheelbase": 90.0}, "90.0")]
)
def test_trucks_that_cannot_be_meant(changes, value):
    with pytest.raises(InputError, match=value):
        Body(**{"name": "b", "truck_spacing": 80.0, "prisms": (prism(RECTANGLE),)} | changes)


def test_a_body_needs_a_prism_and_a_vehicle_a_body():
    with pytest.raises(InputError, match="without any section"):
        Body(name="b", truck_spacing=80.0, prisms=())
    with pytest.raises(InputError, match="without any body"):
        Vehicle(id="v", name="v", bodies=())
    with pytest.raises(InputError, match="-1"):
        Play(lateral=-1.0)


def test_play_rolls_the_body_and_moves_it_aside():
    body = car().bodies[0]
    (piece,) = pieces(body, Play(lateral=0.5, roll=0.02))
    polygon = piece.solid.polygon
    c, r = np.cos(0.02), np.sin(0.02)
    assert np.max(polygon[:, 0]) == pytest.approx(0.5 + 18.0 * c + 50.0 * r)
    assert np.min(polygon[:, 0]) == pytest.approx(-0.5 - 18.0 * c - 50.0 * r)
    assert np.max(polygon[:, 1]) == pytest.approx(50.0 * c + 18.0 * r)  # the far corner of the roof lifts
    assert np.min(polygon[:, 1]) == pytest.approx(1.0 * c - 18.0 * r)


def test_a_concave_section_becomes_few_pieces_and_keeps_its_notch():
    solids = pieces(car(NARROW_BELOW).bodies[0], Play())
    assert len(solids) <= 3
    assert all(piece.prism == 0 for piece in solids)
    assert not any(
        piece.solid.polygon[:, 0].max() > 12.0 and piece.solid.polygon[:, 1].min() < 29.0 for piece in solids
    )


def test_growing_moves_each_side_out_and_the_top_up_but_not_the_bottom():
    (grown,) = grow(car().bodies[0], 2.0, 3.0).prisms
    low, high = grown.section.min(axis=0), grown.section.max(axis=0)
    assert low == pytest.approx([-20.0, 1.0])
    assert high == pytest.approx([20.0, 53.0])


def test_size_errors_shift_points_outward():
    _, vehicle, _, inputs = scene()
    values = inputs.values
    for key, v in zip(("width", "height", "length", "trucks"), (0.4, 0.3, 0.6, 0.2), strict=True):
        values[inputs.column(key)] = v
    moved = inputs.with_values(values)
    shift = size_shift(vehicle, np.array([-80.0, 18.0, 50.0]), moved)
    assert shift.value == pytest.approx([-0.3, 0.2, 0.3])
    assert shift.jac[1, inputs.column("width")] == 0.5
    body = sized(vehicle, moved).bodies[0]
    assert body.truck_spacing == pytest.approx(160.2)
    assert body.front == pytest.approx(115.3)
    assert body.prisms[0].section.max(axis=0) == pytest.approx([18.2, 55.3])
    assert sized(vehicle, inputs) is vehicle
