"""Lays a graph out in layers with right-angled lines, by the Eclipse Layout Kernel.

It is the JavaScript of `elkjs`, run in V8 in a process of its own, which can be ended whatever it
does. A layout is kept in the user's folder for such things, by the content of its graph: the next
time it costs nothing.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import signal
import sys
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from tellback.draw.packages import package
from tellback.files import read_file, replace_file
from tellback.processes import Gone, Helper
from tellback.refusals import Refusal

PATIENCE = 30.0
"""So many seconds of processor time a layout may take; then its process ends."""

SILENCE = 20 * PATIENCE
"""After so many seconds by the clock a process that works on nothing is taken to be stuck."""

MOST_BYTES = 100_000_000
"""A layout that is kept is never so big."""

_SCRIPT = Path(__file__).with_name("elk") / "elk-worker.min.js"

# What the script expects of a browser. Its timers must run at once: nothing else turns here.
_BEFORE = """\
var exports = {}, module = {exports}, self = {}, global = globalThis;
var console = {log() {}, warn() {}, error() {}, info() {}, debug() {}};
globalThis.setTimeout = (task) => { task(); return 0; };
"""
_AFTER = """\
var answer = null;
var worker = new module.exports.Worker();
worker.onmessage = (message) => { answer = message.data; };
worker.postMessage({id: 0, cmd: 'register', algorithms: ['layered']});
function layout(graph) {
    worker.postMessage(
        {id: 1, cmd: 'layout', graph: JSON.parse(graph), layoutOptions: {}, options: {}});
    return JSON.stringify({data: answer.data});  // an error of ELK's holds itself
}
"""

_CACHES = {"darwin": "~/Library/Caches", "win32": "~/AppData/Local"}
"""Where systems keep what can be made again, if not in `~/.cache`."""

Graph = dict[str, Any]
Point = tuple[float, float]


class NotLaidOut(Refusal):
    """The layout did not come."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line from end to end by its bends, and where others branch off it."""

    points: tuple[Point, ...]
    branches: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """The upper left corner of each node, the lines in the order of the edges, and the size."""

    nodes: Mapping[str, Point]
    lines: tuple[Line, ...]
    width: float
    height: float


def laid_out(graph: Graph) -> Layout:
    """Where the nodes and lines of a graph go. Raises NotLaidOut."""
    text = json.dumps(graph, sort_keys=True)
    name = hashlib.sha256(f"{_SCRIPT.stat().st_size} {text}".encode()).hexdigest() + ".json"
    folder = _folder()
    kept = _kept(folder / name, graph) if folder else None
    if kept:
        return kept
    found = _asked(text)
    layout = _layout(found, graph)
    if layout is None:
        raise NotLaidOut("the drawing could not be laid out", "Draw fewer things at a time.")
    if folder:
        _keep(folder / name, found)
    return layout


def _asked(text: str) -> object:
    """What the process gives; a second process is tried if the first falls silent."""
    for _ in range(2):
        try:
            return json.loads(_process().ask(text, SILENCE)).get("data")
        except Gone:
            _process().end()
            _process.cache_clear()
    return None


def _layout(found: Any, graph: Graph) -> Layout | None:
    """The layout of the graph that ELK's JSON gives; None if that is no layout of this graph."""
    try:
        edges = found["edges"] if graph.get("edges") else []
        layout = Layout(
            {node["id"]: _point(node) for node in found["children"]},
            tuple(map(_line, edges)),
            _number(found["width"]),
            _number(found["height"]),
        )
        of_edges = [edge["id"] for edge in edges]
    except (KeyError, TypeError, ValueError, AttributeError):
        return None
    same = list(layout.nodes) == [node["id"] for node in graph["children"]]
    return layout if same and of_edges == [e["id"] for e in graph.get("edges", ())] else None


def _line(edge: Any) -> Line:
    (section,) = edge["sections"]
    all_of = [section["startPoint"], *section.get("bendPoints", ()), section["endPoint"]]
    return Line(tuple(map(_point, all_of)), tuple(map(_point, edge.get("junctionPoints", ()))))


def _point(data: Any) -> Point:
    return _number(data["x"]), _number(data["y"])


def _number(data: float) -> float:
    if not math.isfinite(data):
        raise ValueError("not a number")
    return data


@cache
def _process() -> Helper:
    return Helper(worked_out)


def worked_out(text: str) -> str:
    """The layout of a graph, in the process beside; both are JSON."""
    signal.setitimer(signal.ITIMER_PROF, PATIENCE)
    answer: str = _engine().call("layout", text)
    signal.setitimer(signal.ITIMER_PROF, 0)
    return answer


@cache
def _engine() -> Any:
    engine = package("py_mini_racer").MiniRacer()
    for script in (_BEFORE, _SCRIPT.read_text(encoding="utf-8"), _AFTER):
        engine.eval(script)
    return engine


def _folder() -> Path | None:
    """The folder for what can be made again, where the user's system has it; None without any."""
    named = os.environ.get("XDG_CACHE_HOME", "")
    if not Path(named).is_absolute():  # then it is to be ignored
        named = os.path.expanduser(_CACHES.get(sys.platform, "~/.cache"))
    return Path(named) / "tellback" / "layouts" if Path(named).is_absolute() else None


def _kept(path: Path, graph: Graph) -> Layout | None:
    """The layout of the graph kept in a file; None if there is none, or none that can be used."""
    try:
        return _layout(json.loads(read_file(path, MOST_BYTES)), graph)
    except (OSError, ValueError, RecursionError):
        return None


def _keep(path: Path, found: object) -> None:
    """Keeps a layout; where nothing can be kept, nothing is lost."""
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(path, json.dumps(found).encode())
