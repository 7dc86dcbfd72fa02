"""First pass over the chapters: which things there are, and what conditions may say of them."""

from __future__ import annotations

from dataclasses import dataclass

from tellback.book import keys
from tellback.book.context import Context, pairs_of, scalars
from tellback.book.expansion import members
from tellback.book.fields import Fields, read_fields
from tellback.book.names import Declared, Names, fold, merged, near
from tellback.book.nodes import Items, Node, Scalar
from tellback.book.numbers import UNKNOWN, number_text
from tellback.units import MEASURES, unit_named

MOST_IN_GROUP = 100


@dataclass(frozen=True, slots=True)
class Entry:
    """A thing as declared, before its statements are read."""

    name: str
    named: Scalar
    fields: Fields
    declared: Declared
    chapter: str
    source: str
    family: str
    index: tuple[tuple[str, str], ...]
    alternative: int


def entries_of(context: Context, chapter: Fields) -> list[Entry]:
    """The things declared in a chapter, members of `for each` written out."""
    found: list[Entry] = []
    for section, form in keys.SECTIONS.items():
        for name, node in pairs_of(chapter.get(section)):
            alternatives = node.items if isinstance(node, Items) else (node,)
            for number, body in enumerate(alternatives):
                found += _members(context, chapter, form, name, body, number)
            if not alternatives:
                context.error(node, "shape", f"`{name.text}` has an empty list", "State its keys.")
    return found


def _members(
    context: Context, chapter: Fields, form: str, name: Scalar, body: Node, alternative: int
) -> list[Entry]:
    found = []
    family = " ".join(name.text.split())
    for index, named, filled in members(context, name, body):
        text = context.name(named)
        fields = read_fields(context, filled, form, f"`{family}`")
        if fields is None or not text:
            continue
        declared = _declare(context, fields, text, form)
        found.append(
            Entry(text, named, fields, declared, chapter.text("chapter"), chapter.text("source"),
                  family if index else text, index, alternative)
        )  # fmt: skip
    return found


def _declare(context: Context, fields: Fields, name: str, form: str) -> Declared:
    states: tuple[str, ...] = ()
    unit, low, high = "", 0.0, 0.0
    if form == "reading":
        unit, low, high = _unit_and_range(context, fields)
    elif form in _PLACES:
        states = _places(context, fields, _PLACES[form])
    kind = fields.text("kind")
    also = tuple(context.name(node) for node in scalars(fields.get("also called")))
    fails = _fails(context, fields, form, kind, unit, low, high)
    outside = form == "reading" and not (fields.get("follows") or fields.get("moves"))
    return Declared(name, form, kind, states, unit, low, high, fails, also, outside)


_PLACES = {"control": "positions", "surface": "points", "supply": "levels"}


def _places(context: Context, fields: Fields, key: str) -> tuple[str, ...]:
    node = fields.get(key)
    if node is None:
        return ("lost", "normal") if key == "levels" else ()
    found: dict[str, str] = {}
    for place in scalars(node):
        name = context.name(place)
        if fold(name) in found:
            context.error(place, "double", f"`{name}` stands twice in `{key}`", "Rename one.")
        found[fold(name)] = name
    if len(found) < 2:
        context.error(node, "too-few", f"`{key}` needs at least two", "Name them in order.")
    return tuple(found.values())


def _unit_and_range(context: Context, fields: Fields) -> tuple[str, float, float]:
    unit_node, range_node = fields.scalar("unit"), fields.scalar("range")
    unit = (unit_named(unit_node.text) if unit_node else None) or UNKNOWN
    if unit == UNKNOWN and unit_node is not None:
        context.error(
            unit_node, "unit", f"`{unit_node.text}` is not a unit known here",
            unit_mend(unit_node.text),
        )  # fmt: skip
    if range_node is None:
        return unit, float("-inf"), float("inf")
    low, high = _range(context, range_node, unit)
    return unit, low, high


def unit_mend(text: str) -> str:
    """What to write instead of a unit that is not known."""
    similar = near(fold(text), {fold(name): name for name in MEASURES})
    perhaps = f"Did you mean `{similar[0]}`? " if similar else ""
    return perhaps + "Write a unit such as psi, bar, ft, kt, kg, lb, C, V, A, %, rpm, or `none`."


def _range(context: Context, node: Scalar, unit: str) -> tuple[float, float]:
    first, to, last = node.text.casefold().partition(" to ")
    if not to:
        context.error(node, "range", f"`{node.text}` is not a range", "Write it as `0 to 400`.")
        return float("-inf"), float("inf")
    low = context.plain_number(node, unit, first)
    high = context.plain_number(node, unit, last)
    if low is None or high is None:
        return float("-inf"), float("inf")
    if low >= high:
        context.error(node, "range", "the range has no width", "Write the smaller number first.")
    return min(low, high), max(low, high)


_MODES = {
    "control": ("stuck",),
    "unit": ("stops", "keeps running"),
    "supply": ("lost",),
    "surface": ("stuck",),
    "indication": ("shown", "not shown"),
}


def _fails(
    context: Context, fields: Fields, form: str, kind: str, unit: str, low: float, high: float
) -> tuple[str, ...]:
    found: list[str] = []
    for node in scalars(fields.get("fails")):
        if form == "indication" and node.text.casefold().startswith("reads "):
            message = f"`{node.text}` is a failure mode of a reading"
            mend = "State it under `fails` of the reading that the gauge shows."
            context.error(node, "unknown-choice", message, mend)
            mode = ""
        elif form == "reading":
            mode = _reads(context, node, unit, low, high)
        else:
            mode = context.choice(node, _modes(form, kind), "a failure mode of this thing")
        if mode in found:
            context.error(node, "double", f"`{mode}` stands twice in `fails`", "Take one out.")
        elif mode:
            found.append(mode)
    return tuple(found)


def _modes(form: str, kind: str) -> tuple[str, ...]:
    can_stick = form == "unit" and {"contactor", "relay", "valve"} & set(kind.casefold().split())
    return _MODES[form] + (("stuck open", "stuck closed") if can_stick else ())


def _reads(context: Context, node: Scalar, unit: str, low: float, high: float) -> str:
    words = node.text.split(maxsplit=1)
    if len(words) < 2 or words[0].casefold() != "reads":
        context.error(
            node, "unknown-choice", f"`{node.text}` is not a failure mode of a reading",
            "Write what it reads, as `reads 0`.",
        )  # fmt: skip
        return ""
    value = context.plain_number(node, unit, words[1])
    if value is None:
        return ""
    if not low <= value <= high:
        context.error(node, "range", f"`{node.text}` is outside the range", "Correct the number.")
    return f"reads {number_text(value)}"


def names_from(context: Context, entries: list[Entry], groups: list[tuple[Scalar, Node]]) -> Names:
    """The names of all things and groups, doubles and unknown members reported."""
    things: dict[str, Declared] = {}
    owners: dict[str, Entry] = {}
    for entry in entries:
        _claim_names(context, entry, owners)
        first = things.get(entry.name)
        things[entry.name] = merged(first, entry.declared) if first else entry.declared
    context.names = Names(things, {})
    found: dict[str, tuple[str, ...]] = {}
    for name, node in groups:
        text = context.name(name)
        if fold(text) in owners or fold(text) in map(fold, found):
            context.error(name, "double-name", f"`{text}` is declared twice", "Rename one.")
        elif text:
            found[text] = _group(context, name, node)
    return Names(things, {name: group for name, group in found.items() if group})


def _claim_names(context: Context, entry: Entry, owners: dict[str, Entry]) -> None:
    for name in (entry.name, *entry.declared.also):
        other = owners.setdefault(fold(name), entry)
        if other is entry or (other.named.place == entry.named.place and other.name == entry.name
                              and other.alternative != entry.alternative):  # fmt: skip
            _check_same(context, other, entry)
            continue
        place = other.named.place
        context.error(
            entry.named, "double-name",
            f"`{name}` is declared twice; it already names a {other.declared.form} in "
            f"{place.file}, line {place.line}",
            "Rename one, or make it one list with `applies to`.",
        )  # fmt: skip


def _check_same(context: Context, first: Entry, second: Entry) -> None:
    units = {first.declared.unit, second.declared.unit} - {UNKNOWN}
    if len(units) > 1:
        context.error(
            second.named, "unit", f"`{first.name}` has two units: {first.declared.unit} and "
            f"{second.declared.unit}", "Use one unit for all aeroplanes.",
        )  # fmt: skip


def _group(context: Context, name: Scalar, node: Node) -> tuple[str, ...]:
    nodes = scalars(node)
    if not nodes or (isinstance(node, Scalar) and not node.text.strip()):
        message = f"the group `{name.text}` has no list of members"
        context.error(name, "shape", message, "List them.")
        return ()
    if len(nodes) > MOST_IN_GROUP:
        context.error(node, "too-big", f"a group has at most {MOST_IN_GROUP} members", "Split it.")
        return ()
    found = [context.thing(member) for member in nodes]
    return tuple(dict.fromkeys(name for name in found if name))
