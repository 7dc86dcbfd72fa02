"""Two books side by side, each of one aeroplane: what differs, and where it makes a difference.

`pairing` says which thing of one is which of the other, `renaming` gives both the same names,
`stated` lists what is stated differently, `parts` gives what each part of a thing comes to,
`joint` puts both into one space of variables, `judging` finds the smallest state that tells them
apart, and `levels` proposes what a training department would enter.
"""
