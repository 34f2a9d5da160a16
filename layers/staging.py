"""Several files that belong together, put in place together or not at all."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import shutil
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

LEFT_OVER = re.compile(r"\.[^/]+-[a-z0-9_]{8}(\.[a-z]+(-journal|\.aux\.xml)?)?")
"""What a temporary file or folder of ours is called; see ``replacing``."""

OLD_S = 3600.0
"""A temporary file untouched for longer belongs to no run: our own choice."""


def beside(path: Path) -> Path:
    """Make an empty file beside ``path``; an error names the ``path`` asked for."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
        handle, name = tempfile.mkstemp(
            prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent
        )
    except OSError as error:
        raise type(error)(error.errno, error.strerror, str(path)) from error
    os.close(handle)
    return Path(name)


def settle(path: Path) -> None:
    """Have the file on the disk before it takes another's place."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


@contextmanager
def staged(folder: Path) -> Iterator[Path]:
    """Give an empty folder whose files take their places in ``folder`` at the end.

    Each file replaces its forerunner whole, all within a moment. If the block
    raises, nothing in ``folder`` has changed. A run that is killed between two of
    the replacements leaves files of two runs: ``fingerprints`` tell.
    """
    folder.mkdir(parents=True, exist_ok=True)
    temporary = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder))
    try:
        yield temporary
        for file in sorted(temporary.iterdir()):
            file.replace(folder / file.name)
    finally:
        shutil.rmtree(temporary, ignore_errors=True)


def fingerprints(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file of a folder, by name."""
    return {
        file.name: _fingerprint(file)
        for file in sorted(folder.iterdir())
        if file.is_file() and not file.name.startswith(".")
    }


def _fingerprint(file: Path) -> str:
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def are_whole(folder: Path, wanted: Mapping[str, str]) -> bool:
    """Say whether all files are there, each as its fingerprint says."""
    try:
        return bool(wanted) and all(
            _fingerprint(folder / name) == told for name, told in wanted.items()
        )
    except OSError:
        return False


def sweep(folder: Path) -> None:
    """Remove temporary files that killed runs left, once nobody touches them."""
    for path in sorted(folder.rglob(".*")):
        if not LEFT_OVER.fullmatch(path.name) or path.is_symlink():
            continue
        if time.time() - path.stat().st_mtime < OLD_S:
            continue
        if path.is_dir():
            shutil.rmtree(path, ignore_errors=True)
        else:
            path.unlink(missing_ok=True)
