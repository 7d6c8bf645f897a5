"""Run the command line: ``python -m lightplan``."""

import sys

from lightplan.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
