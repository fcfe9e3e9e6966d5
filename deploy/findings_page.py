"""Write the page that lists every finding, from the rules themselves."""

from __future__ import annotations

import sys
from pathlib import Path

from tracker.judge import catalogue

if __name__ == "__main__":
    Path(sys.argv[1]).write_text(catalogue.as_markdown(), encoding="utf-8")
