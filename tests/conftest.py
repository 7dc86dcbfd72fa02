"""Drawn examples: with fresh chance by hand, and the same every time where a change is judged."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("judged", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("judged")
