"""What a fuzzer does to a file: bytes, cells, rows, values of a tree, a sheet's XML."""

from __future__ import annotations

import io
import json
import random
import re
import zipfile
from collections.abc import Callable

NASTY = (
    *("", " ", "nan", "NaN", "inf", "-inf", "1e999", "-1e308", "1e-320", "0", "-0"),
    *("1,5", "1.234,5", "1_000", "0x10", "½", "٣", "−2", "1e5", "00012", "+3", "3 m"),
    *("2024-13-40", "0001-01-01", "9999-12-31T24:00", "12/08/24", "45123", "24:61"),
    *("yes", "left", "float", "gravel", "=1+1", "@x", "#REF!", '"', "'", "\\", "\x00"),
    *("\ufeff", "\u202e", "\ud7ff", "a" * 3000, "9" * 400, "[", "{", "true", "null"),
    *("-1", "400050", "300000", "52.6", "-2", "lb", "7 lb 8", "../x", "/dev/null"),
)
NUMBER = re.compile(rb"-?[0-9]+(?:\.[0-9]+)?")
LONGEST = 60_000
"""An input grows no longer than this many bytes."""

Mutation = Callable[[random.Random, bytes], bytes]


def flip(rng: random.Random, data: bytes) -> bytes:
    """Change a few bytes."""
    held = bytearray(data or b"\0")
    for _ in range(rng.randint(1, 4)):
        held[rng.randrange(len(held))] = rng.randrange(256)
    return bytes(held)


def cut(rng: random.Random, data: bytes) -> bytes:
    """End the file early, or take a piece out."""
    first = rng.randrange(len(data) + 1)
    last = rng.choice((len(data), min(len(data), first + rng.randint(1, 40))))
    return data[:first] + data[last:]


def repeat(rng: random.Random, data: bytes) -> bytes:
    """Write a piece twice, or somewhere else."""
    first = rng.randrange(len(data) + 1)
    piece = data[first : first + rng.randint(1, 200)]
    at = rng.randrange(len(data) + 1)
    return data[:at] + piece + data[at:]


def insert(rng: random.Random, data: bytes) -> bytes:
    """Put something nasty between two bytes."""
    at = rng.randrange(len(data) + 1)
    return data[:at] + _nasty(rng) + data[at:]


def number(rng: random.Random, data: bytes) -> bytes:
    """Put something nasty where a number stands."""
    found = list(NUMBER.finditer(data))
    if not found:
        return insert(rng, data)
    one = rng.choice(found)
    return data[: one.start()] + _nasty(rng) + data[one.end() :]


def cell(rng: random.Random, data: bytes) -> bytes:
    """Put something nasty into cells of a table."""
    rows = [line.split(b",") for line in data.split(b"\n")]
    for _ in range(rng.randint(1, 3)):
        row = rng.choice(rows)
        row[rng.randrange(len(row))] = _nasty(rng)
    return b"\n".join(b",".join(row) for row in rows)


def rows(rng: random.Random, data: bytes) -> bytes:
    """Swap, drop, double or shorten lines; change what separates the cells."""
    lines = data.split(b"\n")
    one, other = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(5)
    if kind == 0:
        lines[one], lines[other] = lines[other], lines[one]
    elif kind == 1:
        del lines[one]
    elif kind == 2:
        lines.insert(other, lines[one])
    elif kind == 3:
        lines[one] = lines[one].rpartition(b",")[0]
    else:
        joint = rng.choice((b";", b"\t", b"|", b", "))
        lines = [line.replace(b",", joint) for line in lines]
    return rng.choice((b"\n", b"\n", b"\r\n", b"\r")).join(lines)


def encode(rng: random.Random, data: bytes) -> bytes:
    """Write the same text in another encoding."""
    text = data.decode("utf-8", errors="replace")
    codec = rng.choice(("utf-16", "utf-8-sig", "cp1252", "utf-32", "utf-16-be"))
    return text.encode(codec, errors="replace")


def tree(rng: random.Random, data: bytes) -> bytes:
    """Change a value, a name or a branch of a JSON tree."""
    try:
        told = json.loads(data)
    except ValueError:
        return flip(rng, data)
    for _ in range(rng.randint(1, 3)):
        told = _other_tree(rng, told)
    return json.dumps(told).encode()


def zipped(rng: random.Random, data: bytes) -> bytes:
    """Change one part inside a zipped file, so that it can still be unpacked."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = {name: archive.read(name) for name in archive.namelist()}
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError, EOFError):
        return flip(rng, data)
    except Exception:  # noqa: BLE001 - a broken archive breaks in many ways
        return flip(rng, data)
    if not parts:
        return flip(rng, data)
    name = rng.choice(list(parts))
    change = rng.choice((flip, cut, repeat, insert, number, number))
    parts[name] = change(rng, parts[name])
    if rng.random() < 0.05:
        del parts[name]
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        for part, content in parts.items():
            archive.writestr(zipfile.ZipInfo(part), content)
    return held.getvalue()


BYTES: tuple[Mutation, ...] = (flip, cut, repeat, insert, number)
TABLE: tuple[Mutation, ...] = (*BYTES, cell, cell, cell, rows, rows, encode)
TREE: tuple[Mutation, ...] = (*BYTES, tree, tree, tree, tree, encode)
TEXT: tuple[Mutation, ...] = (*BYTES, number, number, rows, encode)
ZIPPED: tuple[Mutation, ...] = (flip, cut, zipped, zipped, zipped, zipped)


def mutate(rng: random.Random, data: bytes, kinds: tuple[Mutation, ...]) -> bytes:
    """Return a spoilt copy: one to three changes of the kinds given."""
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        data = rng.choice(kinds)(rng, data)[:LONGEST]
    return data


def _nasty(rng: random.Random) -> bytes:
    return rng.choice(NASTY).encode("utf-8", errors="replace")


def _other_tree(rng: random.Random, told: object) -> object:
    branch = told
    path: list[tuple[dict | list, object]] = []
    while isinstance(branch, dict | list) and branch and rng.random() < 0.9:
        keys = list(branch) if isinstance(branch, dict) else range(len(branch))
        key = rng.choice(list(keys))
        path.append((branch, key))
        branch = branch[key]
    if not path:
        return _leaf(rng)
    holder, key = path[-1]
    if rng.random() < 0.15:
        del holder[key]
    elif isinstance(holder, dict) and rng.random() < 0.1:
        holder[rng.choice(NASTY)] = holder.pop(key)
    else:
        holder[key] = _leaf(rng)
    return told


def _leaf(rng: random.Random) -> object:
    return rng.choice(
        (
            *(None, True, False, 0, -1, 1, 1e308, -1e-320, 10**30, float("nan")),
            *(float("inf"), [], {}, [[]], [None], {"a": 1}, [0, 0], [1e9, 1e9], "x"),
            rng.choice(NASTY),
            rng.uniform(-1e3, 1e3),
        )
    )
