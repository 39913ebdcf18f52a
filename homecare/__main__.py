"""`python -m homecare`: the same as the command `homecare`."""

import sys

from homecare.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
