"""Reading, checking and writing the type book.

`conditions` and `model` say what a book is. `yaml_nodes` reads files as written text with their
places (`nodes`, `sources`); `keys` is the table of all keys, `fields` reads a mapping against it;
`entries` finds the things and their `names`; `grammar` (with `cursor`, `facts` and `numbers`)
parses conditions, `statements` what belongs to them, `things` each kind of thing; `reader` makes
the book. `effectivity` picks one aeroplane, `gaps` finds what is missing for one; `phrases` writes
conditions out, `schema` the keys.
"""
