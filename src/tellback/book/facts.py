"""The part of the grammar that begins with a name: what a thing, or a group of them, is doing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from tellback.book.conditions import (
    All,
    Any,
    AtLeast,
    Between,
    Compare,
    Condition,
    FedBy,
    Not,
    State,
)
from tellback.book.cursor import Cursor, Wrong
from tellback.book.names import Declared, Names, fold, longest, near, plural, trie_of
from tellback.book.numbers import reading_number, two_reading_numbers, whole_number
from tellback.book.states import WORDS, states_in_words, words_for


class Fact(NamedTuple):
    """A condition about a thing or a group; `per_member` for `any GROUP`."""

    condition: Condition
    per_member: bool = False


_ALONE = {"supply": "live", "unit": "running"}
_QUANTIFIERS = {"any", "every", "no", "both"}
_AFTER_A_STATE = frozenset({"", "and", "or", ")", ",", "for", "comes", "goes"})
_ORDER_SIGNS = {
    ">": "above",
    "<": "below",
    ">=": "at least",
    "<=": "at most",
    "=": "at",
    "==": "at",
    "over": "above",
    "under": "below",
    "exceeds": "above",
    "in": "at",
}


def fact(cursor: Cursor) -> Fact:
    """Passes a fact. Wrong if no declared name begins here or the thing has no such state."""
    name, end = cursor.names.match(cursor.words, cursor.at)
    group, group_end = cursor.names.match_group(cursor.words, cursor.at)
    cursor.named = cursor.at
    if name and end >= group_end:
        cursor.at = end
        return Fact(_state(cursor, cursor.names.things[name]))
    if group and _end_of_unknown(cursor) == group_end:
        shown = cursor.written(cursor.at, group_end)
        raise cursor.wrong(
            "group", f"`{shown}` is a group: say of how many of them this is so",
            f"Write `any {shown}`, `every {shown}` or `no {shown}`.", cursor.at, group_end,
        )  # fmt: skip
    if cursor.next() == "true":
        return Fact(_true_reading(cursor))
    if cursor.next() in _QUANTIFIERS or (cursor.next() == "at" and cursor.next(1) == "least"):
        return _of_group(cursor)
    raise _unknown(cursor)


def _true_reading(cursor: Cursor) -> Condition:
    name, end = cursor.names.match(cursor.words, cursor.at + 1)
    if not name:
        cursor.at += 1
        raise _unknown(cursor)
    thing = cursor.names.things[name]
    if thing.form != "reading":
        raise cursor.wrong(
            "true", f"`{name}` is a {thing.form}; only a reading has a true value",
            "Leave out `true`.",
        )  # fmt: skip
    cursor.named, cursor.at = cursor.at, end
    return _state(cursor, thing, bool(thing.fails))


def _of_group(cursor: Cursor) -> Fact:
    start = cursor.at
    quantifier, count = cursor.next(), 0
    cursor.at += 1
    if quantifier == "at":
        cursor.at += 1
        count = whole_number(cursor)
    group, end = cursor.names.match_group(cursor.words, cursor.at)
    if not group or cursor.names.match(cursor.words, cursor.at)[1] > end:
        raise _not_a_group(cursor, start)
    cursor.named, cursor.at = cursor.at, end
    members = cursor.names.groups[group]
    wanted = 2 if quantifier == "both" else count
    if wanted > len(members) or (quantifier == "both" and len(members) != 2):
        raise cursor.wrong(
            "count", f"`{group}` has {len(members)} members", "Correct the number.", start, end
        )
    return _quantified(quantifier, count, _each(cursor, members))


def _quantified(quantifier: str, count: int, parts: tuple[Condition, ...]) -> Fact:
    match quantifier:
        case "any":
            return Fact(Any(parts), per_member=True)
        case "no":
            return Fact(Not(Any(parts)))
        case "at":
            return Fact(AtLeast(count, parts))
    return Fact(All(parts))


def _each(cursor: Cursor, members: tuple[str, ...]) -> tuple[Condition, ...]:
    """The state that comes next, for every member; it must have a meaning for each of them."""
    start, found = cursor.at, []
    cursor.charge(len(members))
    for member in members:
        cursor.at = start
        found.append(_state(cursor, cursor.names.things[member]))
    return tuple(found)


def _not_a_group(cursor: Cursor, start: int) -> Wrong:
    quantifier = cursor.written(start, cursor.at)
    name, end = cursor.names.match(cursor.words, cursor.at)
    if name:
        return cursor.wrong(
            "group", f"`{name}` is one thing, not a group", f"Leave out `{quantifier}`.", start, end
        )
    end = _end_of_unknown(cursor)
    shown = cursor.written(cursor.at, end)
    if not shown:
        message = f"`{quantifier}` what? The name of a group is missing"
        return cursor.wrong("unfinished", message, "Write `any pump running`.", start, cursor.at)
    return cursor.wrong(
        "unknown-group", f"there is no group `{shown}` in this book",
        _mend_of_group(cursor.names, shown), cursor.at, end,
    )  # fmt: skip


def _mend_of_group(names: Names, shown: str) -> str:
    """A group of a like name; else the things whose names end so, to be made a group."""
    likely = [group for group in names.near(shown) if group in names.groups]
    alike = [name for name in names.things if fold(name).endswith(f" {fold(shown)}")]
    if likely or len(alike) < 2:
        return _perhaps(tuple(likely)) or "Declare it under `groups`."
    return f"Declare it under `groups`: `{plural(shown)}: [{', '.join(alike)}]`."


def _unknown(cursor: Cursor) -> Wrong:
    end = _end_of_unknown(cursor)
    shown = cursor.written(cursor.at, end)
    if not shown:
        return cursor.wrong(
            "unfinished",
            "a statement is missing here" if cursor.words else "the condition is empty",
            "Name a thing and its state, as in `left pump running`.",
        )
    mend = _perhaps(cursor.names.near(shown)) or "Declare it, or correct the name."
    if owners := cursor.names.having(shown):
        mend = f"Name the thing again: `{owners[0]} at {shown}`."
    message = f"there is nothing called `{shown}` in this book"
    return cursor.wrong("unknown-name", message, mend, cursor.at, end)


_ENDS_NAME = frozenset(
    {"and", "or", "not", "for", "comes", "goes", "(", ")", ",", "", "at", "above", "below",
     "between", "fed", "otherwise", "failed", "is", "powered", "unpowered", "pressurised",
     "unpressurised", "open", "closed", "then", "only"}
    | {word for words in WORDS.values() for word in words}
    | set(_ORDER_SIGNS)
)  # fmt: skip


def _end_of_unknown(cursor: Cursor) -> int:
    """The word after what was meant as a name, as far as one can tell."""
    end = cursor.at
    while end < len(cursor.words) and cursor.words[end].folded not in _ENDS_NAME:
        end += 1
    return end


def _perhaps(near: tuple[str, ...]) -> str:
    return "Did you mean " + " or ".join(f"`{name}`" for name in near) + "?" if near else ""


def _state(cursor: Cursor, thing: Declared, true: bool = False) -> Condition:
    """Passes the state of a thing whose name has just been passed."""
    if thing.form in {"situation", "means"}:
        return State(thing.name, "yes")
    if cursor.next() == "not":
        cursor.at += 1
        return Not(_plain_state(cursor, thing, true))
    return _plain_state(cursor, thing, true)


def _plain_state(cursor: Cursor, thing: Declared, true: bool) -> Condition:
    words = words_for(thing)
    if cursor.next() in words:
        state, affirmed = words[cursor.next()]
        cursor.at += 1
        found = State(thing.name, state)
        return found if affirmed else Not(found)
    read = _FORMS.get(thing.form)
    condition = read(cursor, thing, true) if read else None
    if condition is not None:
        return condition
    if thing.form in cursor.origin.bare and cursor.next() in {"", "and", "or", ")", ","}:
        return State(thing.name, _ALONE[thing.form])
    raise _no_such_state(cursor, thing)


def _control(cursor: Cursor, thing: Declared, true: bool) -> Condition | None:
    return _at_places(cursor, thing) if cursor.take("at") else None


def _reading(cursor: Cursor, thing: Declared, true: bool) -> Condition | None:
    if cursor.take("between"):
        low, high = two_reading_numbers(cursor, thing)
        return Compare(thing.name, low, True, high, True, true)
    order = _order(cursor)
    if order in {"above", "at least"}:
        low = reading_number(cursor, thing)
        return Compare(thing.name, low, order == "at least", None, False, true)
    if order in {"below", "at most"}:
        high = reading_number(cursor, thing)
        return Compare(thing.name, None, False, high, order == "at most", true)
    if cursor.take("at"):
        value = reading_number(cursor, thing)
        return Compare(thing.name, value, True, value, True, true)
    return None


def _supply(cursor: Cursor, thing: Declared, true: bool) -> Condition | None:
    if cursor.take("otherwise", "lost"):
        return State(thing.name, "otherwise lost")
    if cursor.take("fed", "by"):
        return FedBy(thing.name, _feeder(cursor))
    return _ordered_places(cursor, thing)


def _surface(cursor: Cursor, thing: Declared, true: bool) -> Condition | None:
    return _ordered_places(cursor, thing)


_FORMS: Mapping[str, Callable[[Cursor, Declared, bool], Condition | None]] = {
    "control": _control,
    "reading": _reading,
    "supply": _supply,
    "surface": _surface,
}


def _ordered_places(cursor: Cursor, thing: Declared) -> Condition | None:
    if cursor.take("between"):
        start = cursor.at
        low = _position(cursor, thing)
        if not cursor.take("and"):
            raise cursor.wrong(
                "between", "`and` with the second place is missing", "Write `between A and B`."
            )
        high = _position(cursor, thing)
        if thing.states and thing.states.index(low) > thing.states.index(high):
            raise cursor.wrong(
                "between", f"{low} comes after {high}", f"Write `between {high} and {low}`.",
                start, cursor.at,
            )  # fmt: skip
        return Between(thing.name, low, True, high, True)
    order = _order(cursor)
    if order in {"above", "at least"}:
        return Between(thing.name, _position(cursor, thing), order == "at least", None, False)
    if order in {"below", "at most"}:
        return Between(thing.name, None, False, _position(cursor, thing), order == "at most")
    return _at_places(cursor, thing) if cursor.take("at") else None


def _at_places(cursor: Cursor, thing: Declared) -> Condition:
    """Passes one place of the thing, or a choice of them: `OFF`, `OFF or AUTO`, `5, 10 or 18`."""
    places = [_position(cursor, thing), *_further_places(cursor, thing)]
    found = tuple(State(thing.name, f"at {place}") for place in places)
    return found[0] if len(found) == 1 else Any(found)


def _further_places(cursor: Cursor, thing: Declared) -> list[str]:
    """Passes the places after the first one, if they come to an end with `or`; else nothing."""
    start, places = cursor.at, []
    joints = {",", "or"}
    while (joint := cursor.next()) in joints:
        place, end = longest(trie_of(thing.states), cursor.words, cursor.at + 1)
        follows = cursor.words[end].folded if end < len(cursor.words) else ""
        # a longer name may begin with the same word, and so may `both GROUP`
        named = cursor.names.match(cursor.words, cursor.at + 1)[1] >= end
        if not place or named or follows not in _AFTER_A_STATE:
            break
        places.append(place)
        cursor.at = end
        if joint == "or":
            joints = {"or"}
    if "," not in joints:
        return places
    cursor.at = start
    return []


def _order(cursor: Cursor) -> str:
    for words in (("above",), ("below",), ("at", "least"), ("at", "most")):
        if cursor.take(*words):
            return " ".join(words)
    return ""


def _feeder(cursor: Cursor) -> str:
    name, end = cursor.names.match(cursor.words, cursor.at)
    if not name:
        raise _unknown(cursor)
    form = cursor.names.things[name].form
    if form not in {"unit", "supply"}:
        raise cursor.wrong(
            "feeder",
            f"`{name}` is a {form}; only a unit or a supply feeds",
            "Name the source.",
            cursor.at,
            end,
        )
    cursor.at = end
    return name


def _position(cursor: Cursor, thing: Declared) -> str:
    """Passes a position, point or level of the thing."""
    position, end = longest(trie_of(thing.states), cursor.words, cursor.at)
    if not thing.states and cursor.next():  # that it has none is told where it is declared
        position, end = cursor.words[cursor.at].written, cursor.at + 1
    if position:
        cursor.at = end
        return position
    end = max(_end_of_unknown(cursor), cursor.at)
    shown = cursor.written(cursor.at, end)
    what = {"control": "position", "surface": "point", "supply": "level"}[thing.form]
    has = f"it has {', '.join(thing.states)}"
    message = f"`{thing.name}` has no {what} {shown}: {has}" if shown else (
        f"a {what} of `{thing.name}` is missing: {has}"
    )  # fmt: skip
    owners = [name for name in cursor.names.having(shown) if shown][:3]
    mend = f"{shown} belongs to {' and '.join(f'`{o}`' for o in owners)}." if owners else ""
    mend = mend or f"Write one of {', '.join(thing.states)}."
    raise cursor.wrong("unknown-position", message, mend, cursor.at, end)


def _no_such_state(cursor: Cursor, thing: Declared) -> Wrong:
    start, mend = cursor.at, f"Say {states_in_words(thing)}."
    word = cursor.words[start].written if cursor.next() else ""
    trie = trie_of(thing.states)
    position, end = longest(trie, cursor.words, start)
    if cursor.next() in _AFTER_A_STATE:
        message = f"it is not said what `{thing.name}` is doing"
        return cursor.wrong("no-state", message, mend, cursor.named, start)
    if position:
        denied = "not " if start and cursor.words[start - 1].folded == "not" else ""
        mend = f"Write `{thing.name} {denied}at {position}`."
    elif cursor.next() == "to" and (meant := longest(trie, cursor.words, start + 1)[0]):
        mend = f"Write `{thing.name} at {meant}`."
    elif cursor.next() in _ORDER_SIGNS:
        mend = f"Write `{_ORDER_SIGNS[cursor.next()]}`."
    elif cursor.next() == "is":
        mend = "Leave out `is`."
    elif cursor.next() == "failed":
        mend = f"Give `{thing.name}` its failure modes under `fails`."
    elif similar := near(cursor.next(), {known: known for known in words_for(thing)}):
        mend = f"Did you mean `{similar[0]}`?"
    elif longer := _longer_name(cursor):
        mend = f"{mend} If `{longer}` is meant, declare it, or correct the name."
    article = "an" if thing.form[0] in "aiou" and thing.form != "unit" else "a"
    message = f"`{word}` does not fit `{thing.name}`, which is {article} {thing.form}"
    return cursor.wrong("wrong-state", message, mend, start, max(end, start + 1))


def _longer_name(cursor: Cursor) -> str:
    """The name found with the words after it, if a state seems to follow them; or empty."""
    end = _end_of_unknown(cursor)
    follows = cursor.words[end].folded if end < len(cursor.words) else ""
    return "" if follows in ("", ")", ",", "and", "or") else cursor.written(cursor.named, end)
