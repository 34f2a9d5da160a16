"""A channel or places drawn wrongly, or saved wrongly."""

from __future__ import annotations

import json
import warnings
from pathlib import Path

import geopandas as gpd
import shapely
from case import Case, Spoil, refused, repaired, warned
from clean_survey import (
    AXIS,
    CRS,
    MIDDLE,
    WATER,
    WEST,
    feature,
    write_channel,
    write_features,
)
from mutators import features, gone, raw, swap, text, together
from shapely import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.affinity import scale, translate

FILE = "channel.geojson"


def drawn(*, line=AXIS, water=WATER) -> Spoil:
    return lambda folder: write_channel(folder, line, water)


def filed(name: str, crs: str | None = CRS, stated: str | None = None) -> Spoil:
    """The channel as another kind of file, in a CRS."""

    def spoil(folder: Path) -> None:
        frame = gpd.GeoDataFrame(
            {"part": ["centreline", "water"]}, geometry=[AXIS, WATER], crs=CRS
        )
        if crs is not None:
            frame = frame.to_crs(crs)
        if stated is not None:
            frame = frame.set_crs(stated, allow_override=True)
        if crs is None:
            frame = frame.set_crs(None, allow_override=True)
        (folder / FILE).unlink()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it is meant to be odd
            frame.to_file(folder / name, engine="pyogrio")

    return spoil


def pegs_filed(name: str, crs: str) -> Spoil:
    """The pegs as points in a file of shapes."""

    def spoil(folder: Path) -> None:
        frame = gpd.GeoDataFrame(
            {
                "peg": ["1", "2", "3"],
                "bank": ["left", "right", "left"],
                "open": ["yes", "no", None],
                "step_free": ["no", None, "yes"],
                "walk_m": [120.5, None, 40.5],
                "note": ["by the oak", None, None],
            },
            geometry=shapely.points(
                [WEST + 50.5, WEST + 100.5, WEST + 150.5],
                [MIDDLE + 11.5, MIDDLE - 11.5, MIDDLE + 11.5],
            ),
            crs=CRS,
        ).to_crs(crs)
        (folder / "pegs.csv").unlink()
        frame.to_file(folder / name, engine="pyogrio")

    return spoil


def channel_of(*shapes: tuple[str, shapely.Geometry]) -> Spoil:
    return lambda folder: write_features(
        folder / FILE, *(feature({"part": part}, shape) for part, shape in shapes)
    )


def geometry(part: int, **told: object) -> Spoil:
    """Put a geometry into a feature as it stands."""
    return features(FILE, lambda read: read["features"][part].update(geometry=told))


def property_of(part: int, value: object) -> Spoil:
    return features(
        FILE, lambda read: read["features"][part]["properties"].update(part=value)
    )


def places(*shapes: tuple[dict, shapely.Geometry]) -> Spoil:
    return lambda folder: write_features(
        folder / "places.geojson", *(feature(*shape) for shape in shapes)
    )


def cut(file: str, share: float) -> Spoil:
    return raw(file, lambda data: data[: int(len(data) * share)])


ISLAND = shapely.box(WEST + 90, MIDDLE - 2, WEST + 110, MIDDLE + 2)
OUTSIDE = translate(ISLAND, yoff=40)
LINE = [[-2.0, 52.6], [-1.998, 52.6]]
SILL = {"kind": "weir", "name": "sill", "from": "03-15", "to": "06-15"}
SPOT = shapely.Point(WEST + 190, MIDDLE)

DRAWN = {
    "a centreline that crosses itself": refused(
        drawn(
            line=LineString(
                [
                    (WEST, MIDDLE),
                    (WEST + 150, MIDDLE + 2),
                    (WEST + 100, MIDDLE - 5),
                    (WEST + 100, MIDDLE + 5),
                    (WEST + 200, MIDDLE),
                ]
            )
        ),
        *(FILE, "crosses itself", "without the loop"),
        row=1,
    ),
    "a centreline that touches itself": refused(
        drawn(
            line=LineString(
                [
                    (WEST, MIDDLE),
                    (WEST + 120, MIDDLE),
                    (WEST + 120, MIDDLE + 5),
                    (WEST + 60, MIDDLE),
                ]
            )
        ),
        *(FILE, "crosses itself"),
        row=1,
    ),
    "a closed centreline": refused(
        drawn(line=LineString([*ISLAND.exterior.coords])), FILE, "closed ring", row=1
    ),
    "a reversed centreline": refused(
        drawn(line=AXIS.reverse()), FILE, "drawn upstream", "reverse the direction"
    ),
    "a centreline to and fro": refused(
        drawn(line=LineString([*AXIS.coords, *AXIS.coords[-2:3:-1]])),
        *(FILE, "crosses itself"),
        row=1,
    ),
    "points of the centreline twice": repaired(
        drawn(line=LineString([xy for xy in AXIS.coords for _ in range(2)]))
    ),
    "a centreline of one place": refused(
        geometry(0, type="LineString", coordinates=[LINE[0], LINE[0]]), FILE
    ),
    "a centreline as an area": refused(
        drawn(line=WATER), FILE, "Polygon", "as a single line", row=1
    ),
    "a centreline in three pieces": refused(
        channel_of(
            *(
                ("centreline", LineString([(WEST + a, MIDDLE), (WEST + b, MIDDLE)]))
                for a, b in ((0, 60), (60, 120), (120, 200))
            ),
            ("water", WATER),
        ),
        *(FILE, "3 features"),
    ),
    "a centreline in pieces that join": repaired(
        drawn(
            line=MultiLineString(
                [AXIS.coords[:5], AXIS.coords[4:]],
            )
        )
    ),
    "a centreline with a gap": refused(
        drawn(line=MultiLineString([AXIS.coords[:4], AXIS.coords[6:]])),
        *(FILE, "MultiLineString", "without gaps"),
        row=1,
    ),
    "a centreline on the bank": refused(
        drawn(line=translate(AXIS, yoff=25)), FILE, "lies outside the water"
    ),
    "a centreline past the water's ends": warned(
        drawn(line=scale(AXIS, xfact=1.2)),
        *(FILE, "of the centreline lies outside the water"),
        differ=("centreline",),
    ),
    "a centreline of half the water": warned(
        drawn(line=LineString(AXIS.coords[:6])),
        *(FILE, "beyond the ends of the centreline"),
        differ=("centreline",),
    ),
    "a centreline of a few metres": refused(
        drawn(line=LineString([(WEST, MIDDLE), (WEST + 5, MIDDLE)])),
        *(FILE, "is 5 m long"),
    ),
    "water like a bow tie": refused(
        drawn(
            water=Polygon(
                [
                    (WEST, MIDDLE - 10),
                    (WEST + 200, MIDDLE + 10),
                    (WEST + 200, MIDDLE - 10),
                    (WEST, MIDDLE + 10),
                ]
            )
        ),
        *(FILE, "2 separate pieces"),
    ),
    "water with a small loop in its edge": warned(
        drawn(
            water=Polygon(
                [
                    *WATER.exterior.coords[:-1],
                    (WEST + 100, MIDDLE - 10.4),
                    (WEST + 101, MIDDLE - 9.6),
                    (WEST + 101, MIDDLE - 10.4),
                    (WEST + 100, MIDDLE - 9.6),
                ]
            )
        ),
        *(FILE, "was drawn wrongly", "was repaired"),
        row=2,
        differ=("water",),
    ),
    "water in two pieces": refused(
        drawn(
            water=MultiPolygon(
                [
                    shapely.box(WEST, MIDDLE - 10, WEST + 90, MIDDLE + 10),
                    shapely.box(WEST + 100, MIDDLE - 10, WEST + 200, MIDDLE + 10),
                ]
            )
        ),
        *(FILE, "2 separate pieces", "join them"),
    ),
    "water in two pieces that touch": repaired(
        drawn(
            water=MultiPolygon(
                [
                    shapely.box(WEST, MIDDLE - 10, WEST + 100, MIDDLE + 10),
                    shapely.box(WEST + 100, MIDDLE - 10, WEST + 200, MIDDLE + 10),
                ]
            )
        )
    ),
    "water with a crumb beside": warned(
        drawn(
            water=MultiPolygon(
                [WATER, shapely.box(WEST, MIDDLE + 12, WEST + 2, MIDDLE + 14)]
            )
        ),
        *(FILE, "1 loose piece", "left out"),
    ),
    "an island outside the water": refused(
        drawn(water=Polygon(WATER.exterior, [OUTSIDE.exterior])),
        *(FILE, "2 separate pieces", "islands as holes"),
    ),
    "an island over the edge": warned(
        drawn(water=Polygon(WATER.exterior, [translate(ISLAND, yoff=9).exterior])),
        *(FILE, "was drawn wrongly"),
        row=2,
        differ=("water",),
    ),
    "an island as a feature of its own": warned(
        channel_of(("centreline", AXIS), ("water", WATER), ("island", ISLAND)),
        *(FILE, "neither centreline nor water", "island"),
        row=3,
    ),
    "an island that blocks the river": warned(
        drawn(
            water=Polygon(
                WATER.exterior,
                [shapely.box(WEST + 90, MIDDLE - 10, WEST + 95, MIDDLE + 10).exterior],
            )
        ),
        *(FILE, "pinched", "look at the islands"),
        differ=("water",),
    ),
    "water as a line": refused(
        drawn(water=WATER.exterior), FILE, "not a polygon", "closed polygon"
    ),
    "water as points": refused(
        drawn(water=shapely.MultiPoint(WATER.exterior.coords)), FILE, "not a polygon"
    ),
    "water without a breadth": refused(
        geometry(1, type="Polygon", coordinates=[[*LINE, LINE[0], LINE[0]]]), FILE
    ),
    "water far from the centreline": refused(
        drawn(water=translate(WATER, xoff=5000)), FILE, "100% of the centreline"
    ),
    "water the size of a country": refused(
        drawn(water=WATER.buffer(200_000)), FILE, "wide"
    ),
    "heights in the shapes": repaired(
        drawn(line=shapely.force_3d(AXIS, 20.0), water=shapely.force_3d(WATER, 20.0))
    ),
    "the parts in capitals": repaired(
        together(property_of(0, "CENTRELINE"), property_of(1, " Water "))
    ),
    "the other spelling": repaired(property_of(0, "centerline")),
    "a part that is a number": refused(property_of(1, 7), FILE, "has no water"),
    "a part that is empty": refused(property_of(0, None), FILE, "no centreline"),
}

SAVED = {
    "an empty collection": refused(
        features(FILE, lambda read: read.update(features=[])), FILE, "no drawn features"
    ),
    "a feature without a shape": refused(
        features(FILE, lambda read: read["features"][0].update(geometry=None)),
        *(FILE, "no centreline"),
    ),
    "one feature alone": refused(
        features(FILE, lambda read: read["features"][0]), FILE, "has no water"
    ),
    "a bare shape": refused(
        features(FILE, lambda read: read["features"][0]["geometry"]),
        *(FILE, "no property 'part'"),
    ),
    "coordinates of NaN": refused(
        geometry(0, type="LineString", coordinates=[[float("nan"), 52.6], LINE[1]]),
        FILE,
    ),
    "coordinates of infinity": refused(
        geometry(0, type="LineString", coordinates=[[float("inf"), 52.6], LINE[1]]),
        FILE,
    ),
    "coordinates beyond a double": refused(
        raw(FILE, lambda data: data.replace(b"[[-", b"[[-1e400, 52.6], [-", 1)), FILE
    ),
    "coordinates as text": refused(
        geometry(0, type="LineString", coordinates=[["-2", "52"], LINE[1]]), FILE
    ),
    "latitude before longitude": refused(
        features(
            FILE,
            lambda read: (
                [
                    one.update(
                        geometry=json.loads(
                            shapely.to_geojson(
                                shapely.transform(
                                    shapely.from_geojson(json.dumps(one["geometry"])),
                                    lambda xy: xy[:, ::-1],
                                )
                            )
                        )
                    )
                    for one in read["features"]
                ]
                and None
            ),
        ),
        *("river.toml", "CRS"),
    ),
    "metres in a GeoJSON": refused(
        lambda folder: (folder / FILE).write_text(
            gpd.GeoDataFrame(
                {"part": ["centreline", "water"]}, geometry=[AXIS, WATER]
            ).to_json()
        ),
        *(FILE, "always WGS 84", "EPSG:4326"),
    ),
    "metres in a GeoJSON that says so": refused(
        lambda folder: (folder / FILE).write_text(
            gpd.GeoDataFrame(
                {"part": ["centreline", "water"]}, geometry=[AXIS, WATER], crs=CRS
            ).to_json()
        ),
        *(FILE, "always WGS 84"),
    ),
    "degrees in a GeoJSON that claims metres": warned(
        features(
            FILE,
            lambda read: read.update(
                crs={
                    "type": "name",
                    "properties": {"name": "urn:ogc:def:crs:EPSG::27700"},
                }
            ),
        ),
        *(FILE, "claims", "was read so"),
    ),
    "a GeoJSON with a byte order mark": repaired(
        raw(FILE, lambda data: b"\xef\xbb\xbf" + data)
    ),
    "a GeoJSON in UTF-16": refused(
        raw(FILE, lambda data: data.decode().encode("utf-16")), FILE
    ),
    "a GeoJSON of deep brackets": refused(
        text(FILE, '{"type":"FeatureCollection","features":' + "[" * 200_000), FILE
    ),
    "another JSON": refused(text(FILE, '{"rivers": [1, 2, 3]}'), FILE),
    "a list": refused(text(FILE, "[1, 2, 3]"), FILE, "is not .geojson"),
    "a word": refused(text(FILE, "channel"), FILE, "is not .geojson"),
    "a channel of no bytes": refused(text(FILE, b""), FILE, "empty (0 bytes)"),
    **{
        f"cut at {share:.0%}": refused(cut(FILE, share), FILE)
        for share in (0.02, 0.1, 0.5, 0.9, 0.99)
    },
    **{
        f"a GeoPackage in {crs}": repaired(filed("channel.gpkg", crs), within=0.01)
        for crs in ("EPSG:27700", "EPSG:32630", "EPSG:4326", "EPSG:3857")
    },
    "a GeoPackage that claims another system": refused(
        filed("channel.gpkg", CRS, "EPSG:32630"), "soundings.csv", "far from the water"
    ),
    "a GeoPackage without a system": refused(
        filed("channel.gpkg", None), "channel.gpkg", "reference system"
    ),
    **{
        f"a GeoPackage cut at {share:.0%}": refused(
            together(filed("channel.gpkg"), cut("channel.gpkg", share)), "channel.gpkg"
        )
        for share in (0.001, 0.05, 0.3, 0.6, 0.9)
    },
    "a GeoPackage of another database": refused(
        together(
            gone(FILE), text("channel.gpkg", b"SQLite format 3\x00" + bytes(4080))
        ),
        "channel.gpkg",
    ),
    "a map of links": refused(
        together(
            gone(FILE),
            text(
                "channel.kml",
                '<?xml version="1.0"?><kml><NetworkLink><Link><href>http://x/y.kml'
                "</href></Link></NetworkLink></kml>",
            ),
        ),
        *("channel.kml", "all its shapes in itself"),
    ),
    "a list of other files called KML": refused(
        together(
            gone(FILE),
            text(
                "channel.kml",
                '<?xml version="1.0"?><!-- <kml> --><OGRVRTDataSource><OGRVRTLayer '
                'name="water"><SrcDataSource>/etc/hostname</SrcDataSource>'
                "</OGRVRTLayer></OGRVRTDataSource>",
            ),
        ),
        *("channel.kml", "all its shapes in itself"),
    ),
    "a KML with a document type": refused(
        together(
            gone(FILE),
            text(
                "channel.kml",
                '<?xml version="1.0"?><!DOCTYPE kml [<!ENTITY a "b">]><kml>&a;</kml>',
            ),
        ),
        *("channel.kml", "all its shapes in itself"),
    ),
    "a zipped KML": refused(
        together(gone(FILE), text("channel.kmz", b"PK\x03\x04" + bytes(60))),
        *("channel.kmz", "save it as one of"),
    ),
    "a zipped KML called KML": refused(
        together(gone(FILE), text("channel.kml", b"PK\x03\x04" + bytes(60))),
        *("channel.kml", "is not .kml"),
    ),
    "a table for a channel": refused(
        together(gone(FILE), text("channel.csv", "part\nwater\n")),
        *("channel.csv", "save it as one of"),
    ),
    "a shapefile without its fellows": refused(
        together(gone(FILE), text("channel.shp", b"\x00\x00\x27\x0a" + bytes(96))),
        "channel.shp",
    ),
    **{
        f"pegs in a {Path(name).suffix} in {crs}": repaired(
            pegs_filed(name, crs), within=0.01
        )
        for name, crs in (
            ("pegs.gpkg", "EPSG:27700"),
            ("pegs.gpkg", "EPSG:32630"),
            ("pegs.geojson", "EPSG:4326"),
            ("pegs.shp", "EPSG:27700"),
        )
    },
    "pegs as areas": refused(
        lambda folder: (
            (folder / "pegs.csv").unlink(),
            write_features(folder / "pegs.geojson", feature({"peg": "1"}, ISLAND)),
        ),
        *("pegs.geojson", "a Polygon where a point is wanted"),
        row=1,
    ),
}

PLACES = {
    "a place of an unknown kind": refused(
        places(({"kind": "wier"}, SPOT)),
        *("places.geojson", "did you mean 'weir'"),
        row=1,
        column="kind",
    ),
    "a place without a kind": refused(
        places(({"kind": None, "name": "x"}, SPOT)), "places.geojson", row=1
    ),
    "places that have no kinds": refused(
        places(({"type": "weir"}, SPOT)),
        *("places.geojson", "there is no column 'kind'"),
    ),
    "half a season": refused(
        places(({**SILL, "to": None}, SPOT)),
        *("places.geojson", "first and its last day"),
        row=1,
    ),
    "a season of no day": refused(
        places(({**SILL, "to": "06-31"}, SPOT)),
        *("places.geojson", "no day of the year"),
        row=1,
        column="to",
    ),
    "a place in another county": warned(
        places((SILL, SPOT), ({"kind": "tree"}, translate(SPOT, xoff=90_000))),
        *("places.geojson", "more than 2000 m from the water"),
        row=2,
        differ=("places",),
    ),
    "an area drawn wrongly": warned(
        places(
            (
                {"kind": "no_fishing"},
                Polygon(
                    [
                        (WEST, MIDDLE),
                        (WEST + 9, MIDDLE + 9),
                        (WEST + 9, MIDDLE),
                        (WEST, MIDDLE + 9),
                    ]
                ),
            )
        ),
        *("places.geojson", "was drawn wrongly"),
        row=1,
        differ=("places",),
    ),
    "a place without a shape": warned(
        features(
            "places.geojson",
            lambda read: read["features"].append(
                {"type": "Feature", "properties": SILL, "geometry": None}
            ),
        ),
        *("places.geojson", "no geometry and is left out"),
        row=2,
    ),
    "a property that holds a list": warned(
        swap("places.geojson", '"sill"', '"sill", "tags": ["a", {"b": 1}]'),
        *("places.geojson", "the column is not used"),
        column="tags",
    ),
    "names with every awkward letter": warned(
        places(({**SILL, "name": "'\";<b>\\\n\u202e$(x)%s{}é水🐟"}, SPOT)),
        *("places.geojson", "line break"),
        row=1,
        column="name",
        differ=("places",),
    ),
}

CASES: dict[str, Case] = {**DRAWN, **SAVED, **PLACES}
