"""Entry point of ``python -m tunememory``."""

from __future__ import annotations

import sys

from tunememory.cli import main

sys.exit(main())
