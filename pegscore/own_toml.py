"""A club's own TOML files, read with the care that anything handed in wants."""

from __future__ import annotations

import tomllib
from typing import TYPE_CHECKING, Any

from layers.folder import leads_outside

if TYPE_CHECKING:
    from pathlib import Path

MOST_BYTES = 1_000_000
"""A file of words and a few numbers that is longer is not what it says; our choice."""


class TomlFault(ValueError):
    """Why a file cannot be read, and the way out, in a club's words."""


def read_own_toml(path: Path, folder: Path) -> dict[str, Any]:
    """Read a file that lies in a survey folder, or below it.

    Raises
    ------
    TomlFault
        If it is a link that leads out of the folder, too long, unreadable, or not
        TOML in UTF-8.
    """
    try:
        if leads_outside(path, folder):
            message = "is a link out of the survey folder; copy the file itself into it"
            raise TomlFault(message)
        size = path.stat().st_size
        if size > MOST_BYTES:
            message = f"holds {size:,} bytes, over {MOST_BYTES:,}; is it the right file"
            raise TomlFault(message)
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except (OSError, RecursionError) as error:
        message = f"cannot be read ({error}); mend it or take it away"
        raise TomlFault(message) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        message = f"is not TOML in UTF-8 ({error}); mend it or take it away"
        raise TomlFault(message) from error
