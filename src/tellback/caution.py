"""The caution that stands under everything that is computed."""

CAUTION = (
    "A training aid. The approved manuals, the operator's procedures and the authority's rules "
    "prevail; nothing here is for operational use or dispatch."
)
"""Shown wherever results are shown."""
