"""Draws a book: what feeds what, and how all of it stands at a moment.

`wiring` reads from the book what is connected with what, `standing` tells how each thing stands,
`boxes` gives things their size and lettering, `elk` lays them out, `sheets` cuts what is drawn into
sheets that fit a projector, `panel` lists controls, lights and gauges, `symbols`, `look` and `svg`
put all that on a sheet, `export` makes other kinds of file of it. `schematic` is the way in.
"""
