"""One shape for everything that goes wrong: what was wrong, what was expected, what to do."""

from __future__ import annotations

from typing_extensions import override


class HardstandError(Exception):
    """Say what was wrong, what was expected and what to do; `str()` joins the three.

    Each package has one subclass of this as its own base (`StoreError`, `MarkError`), and a
    subclass of that per situation, which carries the values as attributes.
    """

    def __init__(self, wrong: str, *, expected: str = "", remedy: str = "") -> None:
        self.wrong = wrong
        self.expected = expected
        self.remedy = remedy
        super().__init__(wrong)

    @override
    def __str__(self) -> str:
        """Return the three parts as sentences on one line; empty parts are left out."""
        parts = [self.wrong]
        if self.expected:
            parts.append(f"Expected {self.expected}")
        if self.remedy:
            parts.append(self.remedy)
        return " ".join(part if part.endswith((".", "?", "!")) else f"{part}." for part in parts)


class KnowledgeError(HardstandError):
    """The base of errors raised by the pure trade knowledge in `shared`."""
