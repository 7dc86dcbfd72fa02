"""The packages that only drawing needs; they are large, and installed only where one draws."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from tellback.refusals import Refusal


class NotInstalled(Refusal):
    """A package that drawing needs is not there."""


def package(name: str) -> Any:
    """The package, or the part of one, of that name. Raises NotInstalled."""
    try:
        return import_module(name)
    except ImportError as missing:
        raise NotInstalled(
            f"drawing needs packages that are not installed here ({missing})",
            "Install Tellback with what it draws with: python -m pip install 'tellback[draw]'.",
        ) from missing
