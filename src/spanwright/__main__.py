"""``python -m spanwright``: the command line."""

from __future__ import annotations

import sys

from spanwright.cli.main import run

if __name__ == "__main__":
    sys.exit(run())
