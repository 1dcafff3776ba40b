"""Entry point of ``python -m tunememory``."""

import sys

from tunememory.cli import main

sys.exit(main())
