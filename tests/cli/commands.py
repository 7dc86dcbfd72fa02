"""Runs a command of `tellback` in this process, as its tests need it."""

from __future__ import annotations

import io
import json
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from typing import Any

from tellback.cli.main import main


@dataclass(frozen=True)
class Ran:
    """What a command left behind."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        """The output as JSON."""
        data = json.loads(self.out)
        assert isinstance(data, dict)
        return data


def run(*arguments: object) -> Ran:
    """Runs `tellback` with the arguments."""
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        status = main([str(argument) for argument in arguments])
    return Ran(status, out.getvalue(), err.getvalue())
