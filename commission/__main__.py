"""`python -m commission` is the command `commission`."""

import sys

from commission.cli import main

if __name__ == "__main__":
    sys.exit(main())
