"""Two editions of the map: every byte of the members' file is searched."""

from __future__ import annotations

import base64
import json
import re

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely import Point

from pegscore.cli import main

pytestmark = pytest.mark.slow

REDD = "quarrybank redd"
NOTE = "the key is under the third stone"
ANGLER = "ZQ77"


@pytest.fixture(scope="module")
def folder(tmp_path_factory, write_survey):
    """The small river with a redd beside peg 3, notes, and returns of peg 5."""
    folder = write_survey(tmp_path_factory.mktemp("editions") / "river")
    pegs = pd.read_csv(folder / "pegs.csv")
    pegs.assign(note=NOTE).to_csv(folder / "pegs.csv", index=False)
    redd = pegs.set_index("peg").loc[3]
    write_redd(folder, float(redd["x"]), float(redd["y"]) - 6)
    returns_of_peg_five().to_csv(folder / "returns.csv", index=False)
    assert main(["check", str(folder)]) == 0
    return folder


def write_redd(folder, easting: float, northing: float) -> None:
    spot = Point(easting, northing).buffer(5, cap_style="square")
    place = gpd.GeoDataFrame(
        {"kind": ["spawning"], "name": [REDD]}, geometry=[spot], crs="EPSG:27700"
    )
    (folder / "places.geojson").write_text(
        place.to_crs("EPSG:4326").to_json(drop_id=True)
    )


def returns_of_peg_five() -> pd.DataFrame:
    visits = np.arange(12)
    return pd.DataFrame(
        {
            "visit": [f"V{number}" for number in visits],
            "date": pd.date_range("2024-06-20", periods=12).strftime("%Y-%m-%d"),
            "angler": [f"{ANGLER}{number % 4}" for number in visits],
            "peg": "5",
            "hours": 4.0,
            "species": "chub",
            "count": 3,
        }
    )


@pytest.fixture(scope="module")
def editions(folder):
    made = {}
    for edition in ("members", "committee"):
        command = ["map", str(folder), "--for", edition, "--cell", "2", "--quiet"]
        assert main(command) == 0
        name = "map.html" if edition == "members" else "map-committee.html"
        made[edition] = (folder / "out" / name).read_bytes()
    return made


def every_byte(page: bytes) -> bytes:
    """Return the file as it is, its texts unescaped, and all its base64 decoded."""
    text = page.decode("utf-8")
    unescaped = re.sub(
        r"\\u([0-9a-f]{4})", lambda found: chr(int(found.group(1), 16)), text
    )
    packed = re.findall(r'"([A-Za-z0-9+/]{16,}={0,2})"', text)
    whole = [p for p in packed if len(p) % 4 == 0]
    parts = [page, unescaped.encode("utf-8", "replace")]
    return b"\n".join(parts + [base64.b64decode(p) for p in whole]).lower()


def test_the_members_file_holds_no_spawning_place_note_angler_or_catch(editions):
    searched = every_byte(editions["members"])
    for secret in ("spawn", "redd", "third stone", ANGLER.lower(), "visits", "anglers"):
        assert secret.encode() not in searched, secret


def test_the_committee_has_them_and_still_no_anglers_name(editions):
    searched = every_byte(editions["committee"])
    assert REDD.encode() in searched
    assert b"under the third stone" in searched
    assert b"12 visits by 4 anglers, 48 hours" in searched
    # 36 chub in 48 hours
    assert b"chub: 36 in 48 hours, 0.75 an hour" in searched
    assert ANGLER.lower().encode() not in searched
    assert b"not for passing on" in searched


def test_the_members_file_does_not_hold_where_the_redd_lies(editions):
    data = editions["committee"].split(b'id="data">')[1].split(b"</script>")[0]
    (place,) = json.loads(data)["places"]
    ring = place["shape"]["parts"][0][0]
    assert len(ring) == 5
    for latitude, longitude in ring:
        assert f"[{latitude},{longitude}]".encode() in editions["committee"]
        assert f"[{latitude},{longitude}]".encode() not in editions["members"]
