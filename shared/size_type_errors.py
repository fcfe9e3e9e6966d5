"""What can go wrong when a painted size-type code is read."""

from __future__ import annotations

from shared.errors import KnowledgeError
from shared.table_files import Certainty


class SizeTypeError(KnowledgeError):
    """The base: a text is no size-type code that can be decoded; `text` is what was read."""

    def __init__(self, text: str, wrong: str, *, expected: str, remedy: str) -> None:
        self.text = text
        super().__init__(wrong, expected=expected, remedy=remedy)


class SizeTypeUnreadableError(SizeTypeError):
    """The text has not the shape of a size-type code, new or old."""

    def __init__(self, text: str) -> None:
        super().__init__(
            text,
            f"{text!r} is no size-type code",
            expected="four characters such as 22G1 (third a letter), or four digits such as 2210",
            remedy="Read the code again beside the mark on the door end",
        )


class SizeTypeUnassignedError(SizeTypeError):
    """The shape is right, but a part of the code has no meaning in the texts that were read.

    `part` is `length`, `height` or `type`; `code` the characters of that part; `certainty` how
    sure it is that they mean nothing; `source` who says so.
    """

    def __init__(self, text: str, part: str, code: str, source: str, certainty: Certainty) -> None:
        self.part = part
        self.code = code
        self.source = source
        self.certainty = certainty
        super().__init__(
            text,
            f"{code!r} is no known {part} code in {text!r}: {source}",
            expected=f"a {part} code that the standard assigns",
            remedy="Read the code again; when it is painted so, take a photo and say so",
        )

    @property
    def is_sure(self) -> bool:
        """Say whether the texts state it, rather than merely being silent."""
        return self.certainty in (Certainty.READ, Certainty.ONE_TEXT)
