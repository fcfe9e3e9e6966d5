"""The demo day: an invented year at two depots, then a day on which everything goes wrong.

`run` works through it on real services, tells what happened in plain words, and serves it.
"""

from deploy.demo.day import run

__all__ = ["run"]
