"""The one error of the logic engine that a user may meet, and the clock that raises it."""

import time

from tellback.refusals import Refusal


class TooLarge(Refusal):
    """The question needs more memory or time than it is allowed; the message says which."""

    def __init__(self, message: str) -> None:
        super().__init__(message, "Ask for less: take more for granted, or seek a lower order.")


class Clock:
    """The time that one answer may take."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._end = time.monotonic() + seconds

    def look(self) -> None:
        """Raise ``TooLarge`` if the time is up."""
        if time.monotonic() > self._end:
            raise TooLarge(f"the answer takes more than {self._seconds:g} s to work out")
