"""Cut areas as a draughtsman shows them: hatched, black where they are thin, grey where they are timber.

Hatching follows ISO 128-3:2020, areas on cuts and sections: thin lines at 45 degrees, neighbours slanted
otherwise; an area too thin for it is blackened. That timber is grey is our own.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from spanwright.drawings.display import Path, Point, Role, path

#: Distance of the lines, the width below which an area is blackened, and that below which the edge of a
#: timber is left out, on paper. [mm]
_PITCH, _THIN, _SLIVER = 1.2, 1.1, 0.3


def rings(region: BaseGeometry) -> list[tuple[Point, ...]]:
    """Return the outlines of an area.

    Parameters
    ----------
    region : BaseGeometry
        Polygons; what else is in it is left out.

    Returns
    -------
    list of tuple of (float, float)
        Corners of each ring, the first not repeated. [mm]
    """
    polygons = [p for p in shapely.get_parts(region) if p.geom_type == "Polygon"]
    found = [r for p in polygons for r in shapely.get_rings(p)]
    return [tuple((float(x), float(y)) for x, y in shapely.get_coordinates(r)[:-1]) for r in found]


def cut_area(area: BaseGeometry, slant: float, *, is_timber: bool = False) -> list[Path]:
    """Draw one cut area.

    Parameters
    ----------
    area : BaseGeometry
        One polygon, on paper.
    slant : float
        1 for lines that rise to the right, -1 for the others. [1]
    is_timber : bool
        Grey instead of hatched.

    Returns
    -------
    list of Path
        Inside and edge.
    """
    outlines = rings(area)
    if is_timber:
        if area.buffer(-0.5 * _SLIVER).is_empty:  # the very edge of a tie
            return []
        return [Path(points=outlines[0], role=Role.FINE, closed=True, fill=0.75)]
    if area.buffer(-0.5 * _THIN).is_empty:
        return [Path(points=outlines[0], role=Role.FINE, closed=True, fill=0.0)]
    edge = [Path(points=ring, role=Role.OUTLINE, closed=True) for ring in outlines]
    blank = Path(points=outlines[0], closed=True, fill=1.0, stroked=False)
    return [blank, *hatching(area, slant), *edge]


def hatching(area: BaseGeometry, slant: float) -> list[Path]:
    """Return the hatching of an area, lines at 45 degrees.

    Parameters
    ----------
    area : BaseGeometry
        The area, on paper.
    slant : float
        1 for lines that rise to the right, -1 for the others. [1]

    Returns
    -------
    list of Path
        Thin lines.
    """
    left, bottom, right, top = area.bounds
    high = top - bottom
    starts = np.arange(left - high, right + high, _PITCH * np.sqrt(2.0))
    ends = [((x, bottom), (x + high, top)) if slant > 0.0 else ((x + high, bottom), (x, top)) for x in starts]
    lines = shapely.MultiLineString(ends).intersection(area)
    runs = [r for r in shapely.get_parts(lines) if r.geom_type == "LineString" and r.length > 0.1]
    return [path(shapely.get_coordinates(r), Role.FINE) for r in runs]
