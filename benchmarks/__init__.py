"""What is measured: `starting` whole processes, `asking` the S94, `trees` published fault trees.

`enumerating` answers two of the same questions in the way a user would without the program.
"""
