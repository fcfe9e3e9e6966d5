"""Run a coroutine in a test, whatever else runs in the test's process."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

Told = TypeVar("Told")


def tell(story: Coroutine[Any, Any, Told]) -> Told:
    """Run a story to its end and return what it tells.

    On a thread of its own: the browser's driver keeps a loop running on the main one.
    """
    with ThreadPoolExecutor(max_workers=1) as one:
        return one.submit(asyncio.run, story).result()
