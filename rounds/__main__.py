"""`python -m rounds`."""

import sys

from rounds.cli import main

if __name__ == "__main__":
    sys.exit(main())
