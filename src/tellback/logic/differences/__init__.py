"""Two books side by side, each of one aeroplane: what differs, and where it makes a difference.

`pairing` and `steps` say which thing and which procedure of one is which of the other, `renaming`
gives both the same names, `sides` keeps them so; `stated`, `wholes`, `procedures` and `limits` list
what is stated differently, `parts` gives what each part of a thing comes to, `joint` puts both into
one space of variables, `judging` finds the smallest state that tells them apart, with runs to it
(`reaching`) and in words (`cases`). `rows` puts together what is one difference; `levels`,
`effects` and `endings` propose what a training department would enter beside it.
"""
