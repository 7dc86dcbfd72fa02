"""Rates: `4 psi a minute`, `500 ft/min`, or a number alone, which counts per second."""

from __future__ import annotations

import re

from tellback.book.context import Context
from tellback.book.nodes import Scalar
from tellback.book.numbers import UNKNOWN, number_text, split_number
from tellback.units import convert, unit_named

_RATE = re.compile(
    r"(?P<amount>.+?)(?:\s+(?:an?|per)\s+|\s*/\s*)"
    r"(?P<time>seconds?|sec|s|minutes?|min|hours?|h)",
    re.IGNORECASE,
)
_TIMES = (("second", 1), ("minute", 60), ("hour", 3600))
_EXACT = 1e-9


def rate_of(context: Context, node: Scalar, unit: str, text: str, alone: bool = False) -> float:
    """A rate in units a second; 0 with the fault reported. `alone`: a mere number will do."""
    rate = _RATE.fullmatch(text.strip())
    amount, seconds = text.strip(), 1
    if rate is not None:
        amount = rate["amount"]
        seconds = next(count for name, count in _TIMES if name[0] == rate["time"][0].casefold())
    split = split_number(amount.split()[0]) if amount else None
    bare = split is not None and not split[1] and len(amount.split()) == 1
    if rate is None and split is not None and not (alone and bare):
        message = f"`{text}` does not say in which time"
        context.error(node, "rate", message, f"Write `{text} a second` or `{text} a minute`.")
        return 0.0
    found = context.plain_number(node, unit, amount)
    if found is None:
        return 0.0
    found -= _zero(amount, unit)
    if found <= 0:
        mend = "Write it without a sign: `to` gives the direction."
        context.error(node, "number", "a rate must be more than zero", mend)
        return 0.0
    return found / seconds


def _zero(amount: str, unit: str) -> float:
    """What nothing is in the unit of the amount: degrees of another scale begin elsewhere."""
    number, *rest = amount.split(maxsplit=1)
    split = split_number(number)
    given = unit_named(" ".join([*([split[1]] if split and split[1] else []), *rest]))
    return convert(0, given, unit) if given and unit != UNKNOWN else 0.0


def rate_text(rate: float, unit: str) -> str:
    """A rate as a pilot says it: `2 kt a second`; `4 psi a minute` where that is rounder."""
    for time, seconds in _TIMES:
        number = round(rate * seconds, 6)
        if abs(number / seconds - rate) <= _EXACT * rate and len(number_text(number)) <= _SHORT:
            return _said(number_text(number), unit, time)
    return _said(number_text(rate), unit, "second")


_SHORT = 6


def _said(number: str, unit: str, time: str) -> str:
    article = "an" if time == "hour" else "a"
    return f"{number}{'' if unit in ('', 'none') else f' {unit}'} {article} {time}"
