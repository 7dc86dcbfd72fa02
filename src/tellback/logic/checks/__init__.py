"""The checks of a book by its logic, one function for each thing that can be wrong.

`starting` looks at the starting states, `circles` at values that depend on themselves, `rest` at
memories that never come to rest, `never` at what can never happen, `positions` at controls,
`against` at statements against one another, `mentions` and `sourced` at the text, `promises` at
claims, `procedures` at the runs of procedures that `trials` makes, `audit` at the program itself.
All look through one `Ground`: the aeroplane and which of its states can be. `tellback.logic.check`
runs them for every aeroplane.
"""
