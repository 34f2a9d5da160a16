"""The only home of numba: which functions are compiled, and when that pays.

Compiled and plain code give the same numbers to ``SAME``; the plain code serves
where numba is not installed and where there is too little to do to wait for it.
"""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Literal, TypeVar, cast

from pegscore.errors import PegError

if TYPE_CHECKING:
    from collections.abc import Callable

    Function = TypeVar("Function", bound=Callable[..., Any])

Engine = Literal["auto", "compiled", "numpy"]
"""Who does the sums: ``auto`` asks ``runs_compiled`` how much there is to do."""

SAME = 1e-9
"""How far the two ways may lie apart, of 1: numpy's running sums go on from swim to
swim and carry their rounding along, the kernels begin afresh in each."""

PAYS_FROM_CELLS = 4_000_000
"""Fewer cells than this are done in less time than a compiler takes to load.

Measured: numpy takes about a second for them; loading the kept machine code takes
half of one, and compiling afresh, once an installation, about ten.
"""


def has_compiler() -> bool:
    """Say whether numba is installed, without loading it."""
    return find_spec("numba") is not None


def runs_compiled(engine: Engine | str, cells: float) -> bool:
    """Say whether a job of so many cells is to run compiled.

    Raises
    ------
    PegError
        If the engine is unknown, or ``compiled`` was asked for without numba.

    Examples
    --------
    >>> runs_compiled("auto", 1000), runs_compiled("numpy", 1e9)
    (False, False)
    """
    if engine not in ("auto", "compiled", "numpy"):
        message = f"the engine is {engine!r}; choose 'auto', 'compiled' or 'numpy'"
        raise PegError(message)
    if engine == "compiled" and not has_compiler():
        message = (
            "the compiled engine needs numba, which is not installed; "
            "pip install 'pegscore[fast]'"
        )
        raise PegError(message)
    if engine == "auto":
        return cells >= PAYS_FROM_CELLS and has_compiler()
    return engine == "compiled"


def kernel(function: Function) -> Function:
    """Compile a function of plain arrays when it is first called, and keep the code.

    The kept code lies beside the module or in the user's cache; where neither can be
    written it is made afresh in each process. Sums are not rearranged, so that every
    processor gives the same digits.
    """
    numba = import_module("numba")
    options = {"nogil": True, "error_model": "numpy"}
    try:
        compiled = numba.njit(cache=True, **options)(function)
    except RuntimeError:  # no place where code can be kept
        compiled = numba.njit(**options)(function)
    return cast("Function", compiled)
