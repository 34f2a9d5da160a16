"""One run at a time writes into a results folder; another waits for it.

The lock is the system's own on an open file, so a run that is killed leaves none.
"""

from __future__ import annotations

import errno
import os
import sys
import time
from contextlib import contextmanager
from typing import IO, TYPE_CHECKING

from layers.pipeline import quiet
from layers.staging import sweep
from pegscore.errors import PegError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

LOCK = ".lock"
LONGEST_WAIT_S = 1800.0
LOOK_AGAIN_S = 0.2

BUSY = frozenset({errno.EAGAIN, errno.EACCES, errno.EDEADLK})


@contextmanager
def one_at_a_time(
    out: Path,
    *,
    longest_s: float = LONGEST_WAIT_S,
    progress: Callable[[str], None] = quiet,
) -> Iterator[None]:
    """Hold a results folder for the block, and clear what killed runs left in it.

    Raises
    ------
    PegError
        If another run has held it for ``longest_s`` seconds.
    """
    out.mkdir(parents=True, exist_ok=True)
    with (out / LOCK).open("a", encoding="utf-8") as file:
        _wait(file, out, longest_s, progress)
        sweep(out)
        yield


def _wait(
    file: IO[str], out: Path, longest_s: float, progress: Callable[[str], None]
) -> None:
    end = time.monotonic() + longest_s
    told = False
    while not _is_taken(file):
        if not told:
            progress("another run is writing there: waiting for it")
            told = True
        if time.monotonic() > end:
            message = f"{out} is held by another run; end it or give another -o"
            raise PegError(message)
        time.sleep(LOOK_AGAIN_S)


def _is_taken(file: IO[str]) -> bool:
    """Take the lock if it is free; a file system without locks is never busy."""
    try:
        if sys.platform == "win32":
            import msvcrt  # noqa: PLC0415 - that system's only

            os.lseek(file.fileno(), 0, os.SEEK_SET)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl  # noqa: PLC0415 - not on every system

            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        return error.errno not in BUSY
    return True
