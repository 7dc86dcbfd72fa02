"""The command line: a thin face over the functions of `tellback`.

`main` runs a command and tells refusals; `options` are those that commands share; `asking` has a
command for each question, `keeping` those for a book's own files; `showing` lays out what is
printed; `session` is the narrated demonstration.
"""
