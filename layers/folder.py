"""Which files of a survey folder are read: one of each stem, none from outside."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from layers import tables
from layers.problems import nearest_name
from layers.shape_kinds import SUFFIXES as SHAPE_SUFFIXES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from layers.problems import ProblemList

TABLE_STEMS = ("soundings", "bed", "speeds", "flows", "pegs", "returns")
SHAPE_STEMS = ("channel", "places")
STEMS = (*SHAPE_STEMS, *TABLE_STEMS)

SIDECARS = frozenset(
    {".dbf", ".shx", ".prj", ".cpg", ".qpj", ".sbn", ".sbx", ".qix", ".qmd", ".xml"}
    | {".gpkg-shm", ".gpkg-wal", ".csvt", ".bak", ".md", ".pdf", ".jpg", ".png"}
)
"""Endings that stand beside a file of the same stem without being a survey file."""

RASTERS = ("bed", "depth", "speed", "substrate")
TIFF_STARTS = (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+")

SWITCHES_OFF: Mapping[str, str] = {
    "soundings": "no soundings: the bed comes from rasters/bed.tif alone, and its "
    "error is not known",
    "bed": "no bottom samples: pegs are scored on depth and pace alone",
    "speeds": "no measured speeds: the pace of the water is estimated from the bed "
    "and not calibrated",
    "flows": "no gaugings: the rating in river.toml is used, or the flow estimated",
    "pegs": "no pegs: layers can be built, but nothing is ranked",
    "places": "no places: nothing is known of overhead lines, weirs, steep banks or "
    "closed water, so no caution can be given about them",
    "returns": "no catch returns: pegs are ranked on what the species prefer, and no "
    "ranker is trained",
    "rasters": "no ready rasters: every layer is made from the survey's own points",
}
"""What the absence of each optional file switches off."""


@dataclass(slots=True)
class Folder:
    """The files found in a survey folder, by stem, and the hashes of those read."""

    path: Path
    files: dict[str, Path] = field(default_factory=dict)
    handed_in: set[str] = field(default_factory=set)
    rasters: dict[str, Path] = field(default_factory=dict)
    hashes: dict[str, str] = field(default_factory=dict)

    def note_hash(self, path: Path) -> None:
        """Hash a file that is read, with a shapefile's companions."""
        together = [path]
        if path.suffix.lower() == ".shp":
            together = sorted(
                other
                for other in path.parent.glob(f"{path.stem}.*")
                if other.suffix.lower() in (".shp", ".dbf", ".shx", ".prj", ".cpg")
            )
        for one in together:
            name = one.relative_to(self.path).as_posix()
            self.hashes[name] = hash_of(one)

    def absent(self) -> dict[str, str]:
        """Say what each absent file switches off."""
        missing = {
            stem: text
            for stem, text in SWITCHES_OFF.items()
            if stem not in self.handed_in and stem != "rasters"
        }
        if not self.rasters:
            missing["rasters"] = SWITCHES_OFF["rasters"]
        return missing


def hash_of(path: Path) -> str:
    """Return the SHA-256 of a file's bytes."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def find_files(path: Path, problems: ProblemList) -> Folder:
    """Find the survey's files, noting what is missing, double or unreadable."""
    folder = Folder(path)
    if not path.is_dir():
        problems.refuse(
            "no-folder",
            path.name or str(path),
            "this is a file, not a folder"
            if path.exists()
            else "there is no such folder",
            "give the folder that holds river.toml",
        )
        return folder
    inside = [one for one in _listed(path) if _is_inside(one, path, problems)]
    if river := next((one for one in inside if one.name.lower() == "river.toml"), None):
        folder.files["river"] = river
        folder.handed_in.add("river")
    for stem in STEMS:
        _choose(stem, inside, folder, problems)
    _find_rasters(path, folder, problems)
    _report_missing(folder, problems)
    _report_strangers(inside, problems)
    return folder


def _listed(path: Path) -> list[Path]:
    """Return what looks like a file: links and folders called as one too."""
    return sorted(
        one
        for one in path.iterdir()
        if (one.is_file() or one.is_symlink() or _is_called_as_a_file(one))
        and not one.name.startswith((".", "~$"))
    )


def _is_called_as_a_file(path: Path) -> bool:
    kinds = (*tables.SUFFIXES, *SHAPE_SUFFIXES, ".toml")
    return _stem_of(path) in (*STEMS, "river") and path.suffix.lower() in kinds


def _is_inside(file: Path, folder: Path, problems: ProblemList) -> bool:
    """Say whether a file is one and lies in the folder, refusing what is not."""
    name = file.relative_to(folder).as_posix()
    if leads_outside(file, folder):
        what = "the file is a link to a place outside the survey folder"
    elif file.is_file() or (file.is_symlink() and file.is_dir()):
        return file.is_file()
    elif file.is_symlink():
        what = "the file is a link that leads nowhere"
    else:
        problems.refuse(
            "not-a-file",
            name,
            "this is a folder where a file is wanted",
            "put the file itself there, or give the folder another name",
        )
        return False
    way_out = "copy the file itself into the folder"
    problems.refuse("outside-folder", name, what, way_out)
    return False


def leads_outside(file: Path, folder: Path) -> bool:
    """Say whether a file is, or lies behind, a link out of a folder."""
    try:
        return not file.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # a link to itself
        return False


def _stem_of(file: Path) -> str:
    return file.name.lower().partition(".")[0]


def _readable(stem: str) -> tuple[str, ...]:
    if stem == "channel":
        return SHAPE_SUFFIXES
    return (*tables.SUFFIXES, *SHAPE_SUFFIXES)


def _choose(
    stem: str, inside: Sequence[Path], folder: Folder, problems: ProblemList
) -> None:
    same = [
        file
        for file in inside
        if _stem_of(file) == stem and file.suffix.lower() not in SIDECARS
    ]
    good = [file for file in same if file.suffix.lower() in _readable(stem)]
    if same:
        folder.handed_in.add(stem)
    if len(good) > 1:
        _refuse_twice(stem, good, problems)
    elif good:
        folder.files[stem] = good[0]
        for other in same:
            if other != good[0]:
                _warn_of_stranger(other.name, "", (), problems)
    elif same:
        problems.refuse(
            "unreadable-kind",
            same[0].name,
            f"a file of the kind {same[0].suffix or '(none)'} is not read for {stem}",
            f"save it as one of {', '.join(_readable(stem))}",
        )


def _refuse_twice(stem: str, good: Sequence[Path], problems: ProblemList) -> None:
    names = " and ".join(file.name for file in good)
    problems.refuse(
        "given-twice",
        good[1].name,
        f"{stem} is given twice: {names}",
        "keep the one that is right, and move the other out of the folder",
    )


def _find_rasters(path: Path, folder: Folder, problems: ProblemList) -> None:
    home = path / "rasters"
    if not home.is_dir():
        return
    if leads_outside(home, path):
        _is_inside(home, path, problems)
        return
    for file in _listed(home):
        if file.suffix.lower() not in (".tif", ".tiff"):
            continue
        name = file.stem.lower()
        if name not in RASTERS:
            _warn_of_stranger(f"rasters/{file.name}", name, RASTERS, problems)
        elif _is_inside(file, path, problems) and _is_tiff(file, problems):
            folder.rasters[name] = file


def _is_tiff(file: Path, problems: ProblemList) -> bool:
    with file.open("rb") as opened:
        start = opened.read(4)
    if start in TIFF_STARTS:
        return True
    problems.refuse(
        "unreadable" if start else "empty-file",
        f"rasters/{file.name}",
        "the file is not a TIFF" if start else "the file is empty (0 bytes)",
        "export it again as GeoTIFF, or delete it to go without",
    )
    return False


def _report_missing(folder: Folder, problems: ProblemList) -> None:
    advice = {
        "river.toml": "write it as the survey format shows: name, crs and gauge",
        "channel": "draw the centreline and the water in a GIS, as channel.geojson",
    }
    for name, way_out in advice.items():
        if name.removesuffix(".toml") not in folder.handed_in:
            problems.refuse(
                "missing-file", name, "the file is missing; it is required", way_out
            )
    if "soundings" not in folder.handed_in and "bed" not in folder.rasters:
        problems.refuse(
            "missing-file",
            "soundings",
            "there are neither soundings nor rasters/bed.tif; one is required",
            "hand in soundings.csv with x, y and depth_m",
        )


def _report_strangers(inside: Iterable[Path], problems: ProblemList) -> None:
    kinds = (*tables.SUFFIXES, *SHAPE_SUFFIXES)
    for file in inside:
        if _stem_of(file) not in STEMS and file.suffix.lower() in kinds:
            _warn_of_stranger(file.name, _stem_of(file), STEMS, problems)


def _warn_of_stranger(
    file: str, stem: str, known: Iterable[str], problems: ProblemList
) -> None:
    likely = nearest_name(stem, known)
    problems.warn(
        "unused-file",
        file,
        "the file is not used",
        f"rename it to {likely!r} if that is it"
        if likely
        else "nothing to do if it is a file of your own",
    )
