"""Tellback: one exact picture of an aeroplane's systems, and everything asked of it.

The folders tell the journey of the data: `book` reads and checks the type book, `logic` turns it
into functions over finite domains and answers, `cli` shows the answers in a terminal.
"""
