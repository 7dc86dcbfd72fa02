"""Checking a book beyond its text: what its logic shows to be wrong or idle."""
