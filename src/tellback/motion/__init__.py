"""Scenarios in time: what happens from a starting state on, event by event, and what comes of it.

`stage` holds the aeroplane and all that is under way around it, `script` plays the steps of a
scenario on it, `runner` lets time pass from event to event and keeps the `trace`. The answers stand
on that: `run`, `still`, `what_if`, and `expected`, which says whether a scenario brings what it
is said to bring.
"""
