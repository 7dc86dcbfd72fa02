"""`python -m tellback`: the same as the command `tellback`."""

import sys

from tellback.cli.entry import main

if __name__ == "__main__":
    sys.exit(main())
