"""From the book of one aeroplane to exact answers.

`formula` is the plain logic, `system` the aeroplane as variables, values and changes, `lower`
makes it from a book, `solve` evaluates it (circles included), `space`, `primes` and `minimal`
are the diagrams behind, `possible` the states that can be, `run` one aeroplane in time; each
question has a module of its own in `answers`.
"""
