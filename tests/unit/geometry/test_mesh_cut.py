"""Meshes cut by a plane, against an independent solid modeller and by hand."""

import manifold3d
import numpy as np
import pytest

from spanwright.geometry.mesh_cut import cut_mesh


def mesh_of(solid):
    mesh = solid.to_mesh()
    return np.asarray(mesh.vert_properties, dtype=float)[:, :3], np.asarray(mesh.tri_verts)


def cut_at(corners, triangles, height):
    """The plane z = height: height first, then x and y."""
    return cut_mesh(np.column_stack([corners[:, 2] - height, corners[:, :2]]), triangles)


def a_box(low, high):
    size = np.subtract(high, low)
    return mesh_of(manifold3d.Manifold.cube(size.tolist()).translate(low))


@pytest.mark.parametrize("height", [1.0, 3.3, 4.0, 6.7])
def test_a_bored_and_leaning_solid_is_cut_as_a_solid_modeller_cuts_it(height):
    solid = (
        manifold3d.Manifold.cylinder(10.0, 5.0, 3.0, 48)
        - manifold3d.Manifold.cylinder(12.0, 1.5, 1.5, 24).translate([1.0, 0.5, -1.0])
        - manifold3d.Manifold.sphere(2.0, 24).translate([-3.0, 0.0, 4.0])
    ).rotate([14.0, -9.0, 30.0])
    found = cut_at(*mesh_of(solid), height)
    assert found.area == pytest.approx(solid.slice(height).area(), rel=1e-4)
    assert found.is_valid


def test_meshes_that_overlap_are_one_area():
    first, second = a_box([0.0, 0.0, 0.0], [4.0, 2.0, 5.0]), a_box([3.0, 0.0, 0.0], [6.0, 2.0, 5.0])
    corners = np.vstack([first[0], second[0]])
    triangles = np.vstack([first[1], second[1] + len(first[0])])
    found = cut_at(corners, triangles, 2.5)
    assert found.area == pytest.approx(12.0)
    assert found.bounds == pytest.approx((0.0, 0.0, 6.0, 2.0))


def test_a_plane_along_a_face_counts_it_once_and_beside_it_not_at_all():
    corners, triangles = a_box([0.0, 0.0, 0.0], [4.0, 2.0, 5.0])
    assert cut_at(corners, triangles, 0.0).area + cut_at(corners, triangles, 5.0).area == pytest.approx(8.0)
    assert cut_at(corners, triangles, 5.1).is_empty
    assert cut_at(corners, triangles, -0.1).is_empty
