"""A small fuzzer that keeps what reaches new lines: ``python tests/fuzzing/fuzzer.py``.

    python tests/fuzzing/fuzzer.py --runs 200000 --seed 1 [--only soundings.csv]

Every run spoils one file and reads it. Allowed are an answer, or a refusal of ours
(``LayerError``, ``PegError``); anything else, a warning that escapes, a word on the
screen and a read of over ten seconds are crashes, and their files are kept. The same
seed makes the same runs.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import random
import signal
import sys
import tempfile
import traceback
import warnings
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parents[1] / "reference" / "bad_surveys"))

from fuzz_lines import Lines
from fuzz_mutations import mutate
from fuzz_targets import Target, targets

from layers.errors import LayerError
from pegscore.errors import PegError

SLOWEST_S = 10
FRESH = 0.2
"""Share of runs that start from a good file and not from a kept one."""


@dataclass
class Crash:
    """What went wrong, where, and with which bytes."""

    target: str
    what: str
    data: bytes


@dataclass
class Told:
    """One target's runs: how many, refused, lines reached, inputs kept, crashes."""

    runs: int = 0
    refused: int = 0
    lines: int = 0
    kept: int = 0
    crashes: dict[str, Crash] = field(default_factory=dict)


def fuzz(name: str, target: Target, *, runs: int, seed: int, scratch: Path) -> Told:
    """Spoil and read one target's file ``runs`` times."""
    rng = random.Random(f"{name}-{seed}")  # noqa: S311 - not for secrets
    told, lines = Told(), Lines()
    corpus = list(target.seeds)
    for data in target.seeds:
        _read(target, data, scratch, lines)
    for _ in range(runs):
        start = target.seeds if rng.random() < FRESH else corpus
        data = mutate(rng, rng.choice(start), target.kinds)
        before = len(lines.seen)
        outcome = _read(target, data, scratch, lines)
        told.runs += 1
        told.refused += outcome == "refused"
        if outcome not in {"read", "refused"}:
            told.crashes.setdefault(_where(outcome), Crash(name, outcome, data))
        elif len(lines.seen) > before:
            corpus.append(data)
    told.lines, told.kept = len(lines.seen), len(corpus) - len(target.seeds)
    return told


def _read(target: Target, data: bytes, scratch: Path, lines: Lines) -> str:
    path, screen = scratch / target.file, io.StringIO()
    path.write_bytes(data)
    try:
        with (
            _no_longer_than(SLOWEST_S),
            warnings.catch_warnings(),
            contextlib.redirect_stdout(screen),
            lines,
        ):
            warnings.simplefilter("error")
            warnings.filterwarnings("ignore", "Use `@`", PendingDeprecationWarning)
            target.read(path)
    except (LayerError, PegError) as refusal:
        blank = not str(refusal).strip()
        return "a refusal that says nothing" if blank else "refused"
    except Exception:  # noqa: BLE001 - whatever else comes is a find
        return traceback.format_exc()
    said = screen.getvalue()
    return f"told the screen: {said}" if said else "read"


def _where(outcome: str) -> str:
    """Return the last line of ours and the kind of error: one crash is told once."""
    ours = [
        line.strip()
        for line in outcome.splitlines()
        if "/layers/" in line or "/pegscore/" in line
    ]
    last = outcome.strip().splitlines()[-1]
    return f"{ours[-1] if ours else ''} {last.split(':')[0]}"


@contextlib.contextmanager
def _no_longer_than(seconds: int) -> Iterator[None]:
    def stop(*_: object) -> None:
        message = f"read for over {seconds} s"
        raise TimeoutError(message)

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)  # of the processor, not of the clock
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def fuzz_all(
    runs: int, seed: int, only: Iterable[str] = ()
) -> Iterator[tuple[str, Told]]:
    """Share the runs out over the targets, and yield what came of each."""
    with tempfile.TemporaryDirectory() as home:
        found = targets(Path(home))
        chosen = {name: found[name] for name in (only or found)}
        scratch = Path(home) / "scratch"
        scratch.mkdir()
        for name, target in chosen.items():
            share = runs // len(chosen)
            yield name, fuzz(name, target, runs=share, seed=seed, scratch=scratch)


def main() -> int:
    """Fuzz, print a line a target, keep what crashed beside this run."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--runs", type=int, default=200_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", nargs="*", default=())
    parser.add_argument("--keep", type=Path, default=Path("fuzz-crashes"))
    options = parser.parse_args()
    crashed = 0
    say = sys.stdout.write
    say(f"{'file':18}{'runs':>8}{'refused':>9}{'lines':>7}{'kept':>6}{'crashes':>9}\n")
    for name, told in fuzz_all(options.runs, options.seed, options.only):
        row = f"{name:18}{told.runs:8}{told.refused:9}{told.lines:7}{told.kept:6}"
        say(f"{row}{len(told.crashes):9}\n")
        sys.stdout.flush()
        for crash in told.crashes.values():
            crashed += 1
            options.keep.mkdir(exist_ok=True)
            mark = zlib.crc32(crash.data)
            (options.keep / f"{mark:08x}-{crash.target}").write_bytes(crash.data)
            sys.stderr.write(f"{crash.what}\n")
    return 1 if crashed else 0


if __name__ == "__main__":
    raise SystemExit(main())
