"""Take a body apart into events, each as the bytes it came in.

The bytes are kept because reading and writing JSON again may change what a sender said (`1.10`
becomes `1.1`), and the same event must be the same in a list and alone. An element that is no JSON
spoils only itself.
"""

from __future__ import annotations

import re
from typing import Final

from tracker.services.accept import MOST_AT_ONCE, TooManyEventsError
from tracker.web.request_errors import BadRequestError

# Whole strings are skipped, whatever brackets and commas stand in them.
_SIGNS: Final = re.compile(rb'"(?:[^"\\]++|\\.)*+"|[\[\]{},]|"', re.DOTALL)
_SPACE: Final = b" \t\r\n"
_DEEPEST: Final = 64
_DEPTH: Final = {b"[": 1, b"{": 1, b"]": -1, b"}": -1}


class UnclosedListError(BadRequestError):
    """A body begins as a list and does not end as one."""

    def __init__(self) -> None:
        super().__init__(
            "The list of events is not closed",
            expected="one event, or a JSON list of events",
            remedy="Nothing was taken; send it again whole",
        )


class TooDeepError(BadRequestError):
    """A body has lists in lists beyond anything that an event consists of."""

    def __init__(self) -> None:
        super().__init__("The body is nested too deep", expected=f"at most {_DEEPEST} levels")


def is_list(body: bytes) -> bool:
    """Say whether a body is meant as a list of events."""
    return body.lstrip(_SPACE).startswith(b"[")


def split(body: bytes) -> list[bytes]:
    """Return the elements of a JSON list, or the body itself as the only one.

    Raises:
        UnclosedListError: the list has no end, or something stands after it.
        TooDeepError: lists stand in lists in lists.
        TooManyEventsError: the list is longer than what is taken; its rest is not looked at.
    """
    body = body.strip(_SPACE)
    if not is_list(body):
        return [body]
    elements: list[bytes] = []
    depth, begins = 0, 1
    for sign in _SIGNS.finditer(body):
        if sign[0] == b'"':
            raise UnclosedListError  # a text without an end
        depth += _DEPTH.get(sign[0], 0)
        if depth > _DEEPEST:
            raise TooDeepError
        if depth == 0:
            if sign.end() != len(body):
                raise UnclosedListError
            last = body[begins : sign.start()].strip(_SPACE)
            return [*elements, last] if elements or last else []
        if sign[0] == b"," and depth == 1:
            elements.append(body[begins : sign.start()].strip(_SPACE))
            if len(elements) >= MOST_AT_ONCE:
                raise TooManyEventsError(len(elements) + 1)
            begins = sign.end()
    raise UnclosedListError
