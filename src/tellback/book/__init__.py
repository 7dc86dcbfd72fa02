"""Reading, checking and writing the type book.

`conditions` and `model` say what a book is; `yaml_nodes` reads files as written text with their
places; `grammar` parses conditions; `reader` makes the book; `effectivity` picks one aeroplane.
"""
