"""Lets the tests of drawings share their sheets and checks, which stand beside them."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
