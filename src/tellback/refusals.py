"""What cannot be done as asked: one base for all such errors, with one text and one JSON form."""

from __future__ import annotations

import re
from typing import Any, ClassVar

from tellback.diagnostics import marked

_BETWEEN_WORDS = re.compile(r"(?<=[a-z])(?=[A-Z])")


class Refusal(Exception):
    """Something asked or given that cannot be used: what is wrong, and what would mend it.

    Where it stands in a text, `text`, `column` (from 0) and `width` mark the place. `kind` is a
    stable short name of the kind of refusal, such as `bad-setting`.
    """

    kind: ClassVar[str] = "refusal"

    def __init_subclass__(cls) -> None:
        cls.kind = _BETWEEN_WORDS.sub("-", cls.__name__).casefold()

    def __init__(
        self, message: str, mend: str = "", text: str = "", column: int = 0, width: int = 0
    ) -> None:
        self.message, self.mend = message, mend
        self.text, self.column, self.width = text, column, width
        super().__init__(message)

    def __str__(self) -> str:
        lines = [self.message]
        if self.text:
            lines += marked(self.text, self.column, self.width)
        if self.mend:
            lines.append(f"  {self.mend}")
        return "\n".join(lines)

    def as_json(self) -> dict[str, Any]:
        """The same as plain data; every refusal has the same fields."""
        return {
            "kind": self.kind,
            "message": self.message,
            "mend": self.mend,
            "text": self.text,
            "column": self.column,
            "width": self.width,
            "diagnostics": [],
        }
