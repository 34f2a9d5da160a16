"""The river's own file, ready rasters, links, and names of files."""

from __future__ import annotations

import struct
from pathlib import Path

from case import Case, Spoil, refused, repaired, warned
from clean_survey import PEGS, RIVER
from mutators import cell, gone, moved, raster, raw, recoded, swap, text, together

FILE = "river.toml"


def key(old: str, new: str, *words: str, **at: object) -> Case:
    return refused(swap(FILE, old, new), FILE, *words, **at)


NUMBERS = {
    "level_m": "level_m = 0.60",
    "zero_m": "zero_m = 20.0",
    "x": "x = 400005.0",
    "y": "y = 300012.0",
    "slope": "slope = 0.0005",
}

RIVER_FILE = {
    **{
        f"{name} {kind}": key(line, f"{name} = {value}", *words, column=f"gauge.{name}")
        for name, line in NUMBERS.items()
        for kind, value, *words in (
            ("NaN", "nan", "no finite number"),
            ("infinite", "-inf", "no finite number"),
            ("in quotes", '"0.6"', "not a number", "without quotes"),
            ("true", "true", "not a number"),
            ("huge", "1e30", "beyond"),
            ("a list", "[1, 2]", "not a number"),
        )
    },
    "a decimal comma": key("0.60", "0,60", "not valid TOML"),
    "a key twice": key("zero_m = 20.0", "zero_m = 20.0\nzero_m = 21.0", "not valid"),
    "a name without quotes": key('"Test Water"', "Test Water", "not valid TOML"),
    "curly quotes": key('"Test Water"', "“Test Water”", "not valid TOML"),
    "a name of blanks": key('"Test Water"', '"  "', "name", column="river.name"),
    "a name that is a number": key('"Test Water"', "7", "name", column="river.name"),
    "a name of two lines": key(
        '"Test Water"', '"Test\\nWater"', "one line", column="river.name"
    ),
    "a name of a thousand letters": key(
        '"Test Water"', f'"{"x" * 1000}"', "letters", column="river.name"
    ),
    "no system": key('crs = "EPSG:27700"\n', "", "crs", column="river.crs"),
    "a system that is a number": key(
        '"EPSG:27700"', "27700", "crs", column="river.crs"
    ),
    "a system that is not": key(
        "EPSG:27700", "EPSG:99999999", "no reference system", column="river.crs"
    ),
    "a system as a path": key(
        "EPSG:27700", "/etc/passwd", "no reference system", column="river.crs"
    ),
    "a system as a command": key(
        "EPSG:27700",
        "+proj=pipeline +step +proj=merc",
        *("drawn as",),
        column="river.crs",
    ),
    "degrees": key("EPSG:27700", "EPSG:4326", "not projected", column="river.crs"),
    "feet": key("EPSG:27700", "EPSG:2263", "not the metre", column="river.crs"),
    "heights alone": key(
        "EPSG:27700", "EPSG:5701", "not projected", column="river.crs"
    ),
    "the web's system": key("EPSG:27700", "EPSG:3857", "drawn as", column="river.crs"),
    "another country's system": refused(
        swap(FILE, "EPSG:27700", "EPSG:25832"), "soundings.csv", "far from the water"
    ),
    "a compound system": repaired(swap(FILE, "EPSG:27700", "EPSG:7405")),
    "the system in small letters": repaired(swap(FILE, "EPSG:27700", "epsg:27700")),
    "a rating of nothing": key("a = 24.0", "a = 0.0", "beyond", column="rating.a"),
    "a rating that falls": key("b = 1.7", "b = -1.7", "beyond", column="rating.b"),
    "a season of one day": key(', "06-15"', "", "two days", column="season.closed"),
    "a season of numbers": key(
        '["03-15", "06-15"]', "[315, 615]", "two days", column="season.closed"
    ),
    "a season in the text": key(
        '["03-15", "06-15"]', '"03-15 to 06-15"', "two days", column="season.closed"
    ),
    "no bytes": refused(text(FILE, b""), FILE, "there is no section [river]"),
    "no text": refused(text(FILE, b"\xff\xfe\x00\x01" * 9), FILE, "not UTF-8"),
    "UTF-16": refused(recoded(FILE, "utf-16"), FILE, "not UTF-8"),
    "deep brackets": refused(text(FILE, "a = " + "[" * 5000), FILE, "not valid TOML"),
    "a section that is a value": refused(
        text(FILE, "river = 1\ngauge = 2\n"), FILE, "there is no section [river]"
    ),
    "a section twice": refused(text(FILE, RIVER + RIVER), FILE, "not valid TOML"),
    "a byte order mark before the river": repaired(
        raw(FILE, lambda data: b"\xef\xbb\xbf" + data)
    ),
    "Windows line ends in the river": repaired(
        raw(FILE, lambda data: data.replace(b"\n", b"\r\n"))
    ),
    "a key that is not known": warned(
        swap(FILE, "slope =", 'colour = "green"\nslope ='),
        *(FILE, "the key is not used"),
        column="gauge.colour",
    ),
    "the river's file called otherwise": refused(
        moved(FILE, "rivers.toml"), FILE, "the file is missing"
    ),
    "the river's file in capitals": repaired(moved(FILE, "River.TOML")),
}


def tiff(width: int, height: int) -> bytes:
    """A TIFF by hand: one strip of four bytes, whatever it declares to be."""
    entries = [
        (256, 4, 1, width),
        (257, 4, 1, height),
        (258, 3, 1, 32),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (273, 4, 1, 8),
        (277, 3, 1, 1),
        (278, 4, 1, height),
        (279, 4, 1, 4),
        (339, 3, 1, 3),
    ]
    body = b"".join(struct.pack("<HHII", *entry) for entry in entries)
    head = b"II*\x00" + struct.pack("<I", 12) + b"\x00\x00\x00\x00"
    return head + struct.pack("<H", len(entries)) + body + b"\x00\x00\x00\x00"


RASTERS = {
    "a whole raster": repaired(raster()),
    "a raster of no bytes": refused(
        text("rasters/bed.tif", b""), "rasters/bed.tif", "empty (0 bytes)"
    ),
    "a raster that is text": refused(
        text("rasters/bed.tif", "bed"), "rasters/bed.tif", "not a TIFF"
    ),
    "a raster that is a link list": refused(
        text("rasters/bed.tif", '<VRTDataset rasterXSize="1" rasterYSize="1"/>'),
        *("rasters/bed.tif", "not a TIFF"),
    ),
    "four bytes of a raster": refused(
        text("rasters/bed.tif", b"II*\x00"), "rasters/bed.tif", "cannot be read"
    ),
    **{
        f"a raster cut at {share:.0%}": refused(
            together(
                raster(),
                raw(
                    "rasters/bed.tif",
                    lambda data, share=share: data[: int(len(data) * share)],
                ),
            ),
            *("rasters/bed.tif", "cannot be read"),
        )
        for share in (0.01, 0.3, 0.7)
    },
    "a raster without a system": refused(
        raster(crs=None), "rasters/bed.tif", "no reference system", "set it in a GIS"
    ),
    "a raster without a place": refused(
        raster(transform=None), "rasters/bed.tif", "does not say where it lies"
    ),
    "a turned raster": repaired(
        raster(turned=True, size=(150, 210), at=(399990.0, 300035.0))
    ),
    "a raster in degrees": refused(
        raster(crs="EPSG:4326"), "rasters/bed.tif", "does not reach the water"
    ),
    "a raster of another river": refused(
        raster(at=(500_000.0, 300_000.0)), "rasters/bed.tif", "does not reach the water"
    ),
    "a raster of half the river": warned(
        raster(size=(30, 105)), "rasters/bed.tif", "of the water"
    ),
    "whole numbers with a nodata": refused(
        raster(dtype="int16", nodata=-9999, value=-9999),
        *("rasters/bed.tif", "no value anywhere"),
    ),
    "whole numbers without a nodata": refused(
        raster(dtype="int16", value=-9999),
        *("rasters/bed.tif", "-9999", "nodata"),
    ),
    "whole numbers as bed": repaired(raster(dtype="int16", nodata=-9999, value=19)),
    "a depth below zero": refused(
        raster("depth", value=-1.5), "rasters/depth.tif", "-1.5", "depth"
    ),
    "a depth in feet or worse": refused(
        raster("depth", value=60.0), "rasters/depth.tif", "60", "depth"
    ),
    "a speed of a train": refused(
        raster("speed", value=50.0), "rasters/speed.tif", "50", "speed"
    ),
    "a bed in another datum": refused(
        raster(value=250.0), "rasters/bed.tif", "250", "datum"
    ),
    "a bottom of unknown classes": refused(
        raster("substrate", bands=("kies", "sand"), value=0.5),
        *("rasters/substrate.tif", "kies", "silt"),
    ),
    "a bottom in per cent": refused(
        raster("substrate", bands=("gravel", "sand"), value=50.0),
        *("rasters/substrate.tif", "shares"),
    ),
    "a bottom that sums to two": refused(
        raster("substrate", bands=("gravel", "sand"), value=1.0),
        *("rasters/substrate.tif", "sum"),
    ),
    "complex numbers": refused(raster(dtype="complex64"), "rasters/bed.tif", "complex"),
    "a raster of a million by a million": refused(
        text("rasters/bed.tif", tiff(10**6, 10**6)), "rasters/bed.tif", "GB"
    ),
    "a raster of one endless row": refused(
        text("rasters/bed.tif", tiff(2 * 10**9, 1)), "rasters/bed.tif", "GB"
    ),
    "a raster of no cells": refused(
        text("rasters/bed.tif", tiff(0, 0)), "rasters/bed.tif", "cannot be read"
    ),
}


def linked(name: str, target: str) -> Spoil:
    """A link in place of a file."""

    def spoil(folder: Path) -> None:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).unlink(missing_ok=True)
        (folder / name).symlink_to(target)

    return spoil


def elsewhere(name: str, content: str) -> Spoil:
    """A file beside the survey folder and a link to it by ``..``."""

    def spoil(folder: Path) -> None:
        (folder.parent / "private.txt").write_text(content)
        linked(name, "../private.txt")(folder)

    return spoil


def rasters_elsewhere(folder: Path) -> None:
    raster()(folder)
    (folder / "rasters").rename(folder.parent / "outside")
    (folder / "rasters").symlink_to("../outside")


def directory(name: str) -> Spoil:
    return lambda folder: (
        (folder / name).unlink(missing_ok=True),
        (folder / name).mkdir(),
    )


AWKWARD = {
    "blanks": "a b c.csv",
    "a semicolon": "a;b.csv",
    "quotes": "a'b\"c.csv",
    "a line break": "a\nb.csv",
    "a dollar": "$(reboot).csv",
    "a per cent": "%s%n.csv",
    "a dash first": "--help.csv",
    "braces": "{0}.csv",
    "another script": "水.csv",
    "turned letters": "a\u202egpj.csv",
    "an escape": "a\x1b[31mred.csv",
    "two hundred letters": "x" * 200 + ".csv",
    "an unpaired surrogate": "a\udcff.csv",
    "markup": "<script>.csv",
}

FOLDER = {
    **{
        f"a stranger's file with {kind} in its name": warned(
            text(name, "a,b\n1,2\n"), "*", "the file is not used"
        )
        for kind, name in AWKWARD.items()
    },
    **{
        f"a link to a file of the machine as {name}": refused(
            linked(name, "/etc/hostname"), name, "outside the survey folder", "copy"
        )
        for name in ("pegs.csv", "river.toml", "channel.geojson", "rasters/bed.tif")
    },
    "a link by .. as pegs": refused(
        elsewhere("pegs.csv", PEGS), "pegs.csv", "outside the survey folder"
    ),
    "a link by .. of another name": refused(
        elsewhere("notes.txt", "n"), "notes.txt", "outside the survey folder"
    ),
    "a folder of rasters that is a link": refused(
        rasters_elsewhere, "rasters", "outside the survey folder"
    ),
    "a link within the folder": repaired(
        together(moved("pegs.csv", "real.txt"), linked("pegs.csv", "real.txt"))
    ),
    "a link to nowhere": refused(
        linked("pegs.csv", "gone.txt"), "pegs.csv", "link", "copy"
    ),
    "a link to itself": refused(
        linked("pegs.csv", "pegs.csv"), "pegs.csv", "link", "copy"
    ),
    "a link to a device": refused(
        linked("pegs.csv", "/dev/zero"), "pegs.csv", "outside the survey folder"
    ),
    "a folder for a file": refused(
        directory("pegs.csv"), "pegs.csv", "a folder", "a file"
    ),
    "a folder for the river's file": refused(
        directory("river.toml"), "river.toml", "a folder"
    ),
    "a spreadsheet's lock file": repaired(text("~$pegs.xlsx", b"x" * 165)),
    "a desktop's own file": repaired(text(".DS_Store", b"\x00\x01")),
    "a copy of a table": warned(
        text("pegs (1).csv", PEGS), "pegs (1).csv", "the file is not used"
    ),
    "a copy with a word behind": refused(
        text("pegs.old.csv", PEGS), "pegs.old.csv", "given twice"
    ),
    "a file in capitals": repaired(moved("pegs.csv", "PEGS.CSV")),
    "a file in both spellings": refused(
        text("PEGS.csv", PEGS), "pegs.csv", "given twice"
    ),
    "a peg called as a formula": repaired(
        together(cell("pegs.csv", 2, "peg", "1"), cell("pegs.csv", 2, "peg", "1"))
    ),
    "no channel": refused(gone("channel.geojson"), "channel", "required"),
    "no river": refused(gone("river.toml"), "river.toml", "required"),
    "no soundings": refused(gone("soundings.csv"), "soundings", "one is required"),
}

CASES: dict[str, Case] = {**RIVER_FILE, **RASTERS, **FOLDER}
