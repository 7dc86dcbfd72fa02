"""Measures in a process of its own: what it takes in time and memory, up to a limit.

python -m benchmarks.apart MODULE FUNCTION ARGUMENT...    run one and print it as JSON
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import time
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

from benchmarks.measures import PROJECT, seconds

NOT_INSTALLED = "not installed"
PROCESS = Path("/proc/self/status")
BYTES_PER_UNIT = 1 if sys.platform == "darwin" else 1024
"""What `ru_maxrss` counts in."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What a function returned, its processor seconds and megabytes; or why there is nothing."""

    result: Any = None
    seconds: float = 0.0
    megabytes: float = 0.0
    missing: str = ""

    def __str__(self) -> str:
        return self.missing or f"{seconds(self.seconds)}, {self.megabytes:.0f} MB"


def apart(module: str, function: str, *arguments: str, limit: float = 600.0) -> Measured:
    """What the function makes of the arguments in a fresh process, given so many seconds.

    The time is that of the processor, for the function alone; the memory is the most that the
    process held.
    """
    command = [sys.executable, "-m", "benchmarks.apart", module, function, *arguments]
    try:
        done = subprocess.run(
            command, cwd=PROJECT, timeout=limit, check=False, capture_output=True, text=True
        )
    except subprocess.TimeoutExpired:
        return Measured(missing=f"over {limit:.0f} s")
    if done.returncode:
        reason = done.stderr.strip().splitlines()[-1]
        absent = reason.startswith("ModuleNotFoundError")
        return Measured(missing=NOT_INSTALLED if absent else f"fails: {reason[:60]}")
    return Measured(**json.loads(done.stdout.splitlines()[-1]))


def main() -> None:
    """Run the function named, and print what it took; `prepare` of its module is not timed."""
    module, name, *arguments = sys.argv[1:]
    home = import_module(module)
    function = getattr(home, name)
    getattr(home, "prepare", lambda: None)()
    begun = time.process_time()
    result = function(*arguments)
    took = time.process_time() - begun
    print(json.dumps({"result": result, "seconds": took, "megabytes": _most_memory()}))


def _most_memory() -> float:
    """The most megabytes of this process; `ru_maxrss` is that of the one it came from, if more."""
    if PROCESS.exists():
        line = next(line for line in PROCESS.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) * 1024 / 1e6
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * BYTES_PER_UNIT / 1e6


if __name__ == "__main__":
    main()
