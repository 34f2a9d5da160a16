"""Places in degrees against pyproj and against what projections are by definition."""

from __future__ import annotations

import math

import numpy as np
import pytest
from pyproj import CRS, Geod, Transformer
from shapely import box

from layers.placement import look_like_degrees, scale_at, to_metres
from layers.river_file import utm_zone

PLACES = {
    "EPSG:27700": (-2.0, 52.6),
    "EPSG:2180": (19.0, 52.1),
    "EPSG:28992": (5.7, 51.9),
    "EPSG:2056": (8.2, 47.3),
    "EPSG:32756": (151.0, -33.6),
    "EPSG:3035": (10.0, 49.0),
}


@pytest.mark.parametrize("code", PLACES)
def test_places_agree_with_pyproj(code: str):
    """pyproj (PROJ) by its own call, the axes as the authority has them."""
    longitude, latitude = PLACES[code]
    crs = CRS(code)
    east, north = to_metres([longitude], [latitude], crs)
    first, second = Transformer.from_crs("EPSG:4326", crs).transform(
        latitude, longitude
    )
    swapped = crs.axis_info[0].direction == "north"
    expected = (second, first) if swapped else (first, second)
    assert (east[0], north[0]) == pytest.approx(expected, rel=0, abs=1e-6)


def test_the_origin_of_a_utm_zone_is_500_km_east():
    """By definition of UTM: false easting 500 000 m on the central meridian.

    Defense Mapping Agency (1989), TM 8358.2, The Universal Grids, section 2-3 [M].
    """
    east, north = to_metres([3.0, 3.0], [0.0, 40.0], CRS("EPSG:32631"))
    np.testing.assert_allclose(east, 500_000, rtol=0, atol=1e-6)
    assert north[0] == pytest.approx(0, abs=1e-6)


def test_the_northing_on_the_central_meridian_is_the_arc_times_0_9996():
    """The meridian arc by quadrature of the WGS 84 ellipse (a, 1/f by definition)."""
    a, f = 6378137.0, 1 / 298.257223563
    e2 = f * (2 - f)
    nodes, weights = np.polynomial.legendre.leggauss(40)
    top = math.radians(45.0)
    latitude = top / 2 * (nodes + 1)
    arc = (
        top
        / 2
        * np.sum(weights * a * (1 - e2) / (1 - e2 * np.sin(latitude) ** 2) ** 1.5)
    )
    _, north = to_metres([3.0], [45.0], CRS("EPSG:32631"))
    # the projection's series is good to a nanometre here; asked for 0.01 mm
    assert north[0] == pytest.approx(0.9996 * arc, rel=0, abs=1e-5)


@pytest.mark.parametrize(
    ("code", "longitude", "latitude"),
    [("EPSG:32630", -1.5, 52.0), ("EPSG:3857", -1.5, 52.0), ("EPSG:2180", 17.0, 52.0)],
)
def test_the_scale_is_drawn_length_by_geodesic_length(
    code: str, longitude: float, latitude: float
):
    """The geodesic by pyproj's Geod (Karney 2013), over 100 m."""
    crs = CRS(code)
    there = Geod(ellps="WGS84").fwd(longitude, latitude, 90.0, 100.0)
    east, north = to_metres([longitude, there[0]], [latitude, there[1]], crs)
    drawn = math.hypot(east[1] - east[0], north[1] - north[0])
    # conformal, so the scale is the same in every direction; over 100 m it changes
    # by less than a millionth, and Web Mercator's worst axis by 0.3 per cent
    scale = scale_at(float(east[0]), float(north[0]), crs)
    assert scale == pytest.approx(
        drawn / 100, rel=5e-3 if code == "EPSG:3857" else 1e-5
    )


@pytest.mark.parametrize(
    ("longitude", "latitude", "code"),
    [
        (-180.0, 10.0, 32601),
        (179.999, 10.0, 32660),
        (180.0, 10.0, 32660),
        (0.0, 0.0, 32631),
        (-0.001, -0.001, 32730),
        (19.0, 52.0, 32634),
    ],
)
def test_the_utm_zone_holds_its_place(longitude: float, latitude: float, code: int):
    """Zones of six degrees from 180 W; checked with the area that EPSG gives."""
    assert utm_zone(longitude, latitude) == code
    area = CRS.from_epsg(code).area_of_use
    assert area is not None
    assert area.west <= (longitude if longitude < 180 else 179.999) <= area.east


def test_a_place_that_the_projection_does_not_reach_is_unknown():
    east, north = to_metres([0.0, 0.0], [95.0, 45.0], CRS("EPSG:32631"))
    assert np.isnan([east[0], north[0]]).all()
    assert np.isfinite([east[1], north[1]]).all()


def test_small_numbers_are_degrees_only_if_the_river_lies_elsewhere():
    assert look_like_degrees([-2.0], [52.6], box(400000, 300000, 400100, 300100))
    assert not look_like_degrees([-2.0], [52.6], box(-100, 0, 100, 100))
    assert not look_like_degrees([400], [52.6], box(400000, 300000, 400100, 300100))
