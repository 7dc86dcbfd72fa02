"""Draws a book: what feeds what, and how all of it stands at a moment.

`wiring` reads from the book what is connected with what, `standing` tells how each thing stands,
`boxes` gives things their size and lettering, `plan` makes a diagram of some of them, which `elk`
lays out. `pieces` cuts what is drawn so that each diagram fits a sheet, `packing` puts them on
sheets, `panel` lists controls, lights and gauges, `symbols`, `look` and `svg` draw, `paper` puts
all that together, `export` makes other kinds of file of it. `schematic` is the way in.
"""
