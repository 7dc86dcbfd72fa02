"""The one error of the logic engine that a user may meet, and the clock that raises it."""

import time


class TooLarge(Exception):
    """The question needs more memory or time than it is allowed; the message says which."""


class Clock:
    """The time that one answer may take."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._end = time.monotonic() + seconds

    def look(self) -> None:
        """Raise ``TooLarge`` if the time is up."""
        if time.monotonic() > self._end:
            raise TooLarge(f"the answer takes more than {self._seconds:g} s to work out")
