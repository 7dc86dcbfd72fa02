"""The naive twin: what a book means, by enumeration, for tests only.

It shares the data of a book (`tellback.book.model`, `tellback.book.conditions`) with the program
and nothing else. The way of the data: `frame` (items and regions), `meaning` (conditions),
`values` (all values of a state), `steps` (to the next steady state), `timed` (starting states,
settling), `reach` (possible states), `items` (what an answer may speak of), `answers`.
"""
