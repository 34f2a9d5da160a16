"""A club's river survey as aligned layers of bed, substrate, depth and flow.

``layers.read_survey(path)`` reads and checks a survey folder;
``layers.build(survey, cell_m=..., levels_m=...)`` turns it into a ``Stack``.
Nothing heavy is loaded before it is asked for.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from layers.pipeline import build
    from layers.river import Survey
    from layers.stack import Stack
    from layers.survey import check_survey, read_survey

__all__ = ["Stack", "Survey", "build", "check_survey", "read_survey"]

_HOMES = {
    "Stack": "layers.stack",
    "Survey": "layers.river",
    "build": "layers.pipeline",
    "check_survey": "layers.survey",
    "read_survey": "layers.survey",
}


def __getattr__(name: str) -> object:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    message = f"module 'layers' has no attribute {name!r}"
    raise AttributeError(message)
