"""`python -m weldworth`: the same as `weldworth`."""

from __future__ import annotations

from weldworth.cli.main import app

if __name__ == "__main__":
    app()
