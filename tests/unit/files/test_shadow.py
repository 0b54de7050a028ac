"""A vehicle's section from points picked on a picture: scale, level and middle from the two rails."""

import numpy as np
import pytest

from spanwright.errors import InputError
from spanwright.files.job_file import job_of
from spanwright.files.template import template_text

OUTLINE = 'outline = [["3", "14"], ["6", "19.5"], ["29", "19.5"], ["33", "12"]]'
CORNERS = np.array([[-9.75, 3.0], [9.75, 3.0], [9.75, 29.0], [6.0, 33.0], [-6.0, 33.0], [-9.75, 29.0]])


def picture(scale=21.0, turn=0.03, middle=(700.0, 900.0), apart=9.0):
    """The corners as a camera held askew would show them: pixels, y down."""
    c, s = np.cos(turn), np.sin(turn)

    def to(left, up):
        x, y = -left * scale, -up * scale
        return [round(float(middle[0] + c * x - s * y), 3), round(float(middle[1] + s * x + c * y), 3)]

    return [to(apart / 2, 0.0), to(-apart / 2, 0.0)], [to(*p) for p in CORNERS]


def job_with(rails, points):
    text = template_text()
    assert OUTLINE in text
    return job_of(
        text.replace(OUTLINE, f'shadow = {{ rails = {rails}, apart = "9", points = {points} }}'), "job.toml"
    )


@pytest.mark.parametrize("turn", [0.0, 0.03, -0.1])
@pytest.mark.parametrize("swapped", [False, True])
def test_the_section_comes_back_true_to_size(turn, swapped):
    rails, points = picture(turn=turn)
    job = job_with(rails[::-1] if swapped else rails, points)
    section = job.clearance.runs[0].vehicle.bodies[0].prisms[0].section
    assert section == pytest.approx(CORNERS, abs=1e-3)


def test_it_is_said_that_one_scale_was_used():
    notes = job_with(*picture()).clearance.runs[0].vehicle.notes
    assert any("one scale" in note for note in notes)


def test_a_point_under_the_rails_is_refused():
    rails, points = picture()
    with pytest.raises(InputError, match="below the rails"):
        job_with(rails, [*points[:1], [700.0, 990.0], *points[1:]])


def test_one_point_gives_no_scale():
    rails, points = picture()
    with pytest.raises(InputError, match="do not give a scale"):
        job_with([rails[0], rails[0]], points)
