"""The findings about an identity mark: shape, category letter, check digit, owner code.

A mark that raises a doubt is not adopted. Nothing here asks whether the unit is in the depot.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from schemas.findings import Finding, Severity
from shared import marks, misreads
from shared.marks import CATEGORIES
from shared.misreads import KnownMarks, Suggestion
from shared.table_files import Certainty
from tracker.judge.rules import Rule

_FIELD: Final = "mark"
_ANNEX: Final = "ISO 6346 Annex A"

SHAPE = Rule(
    "mark.shape",
    Severity.DOUBT,
    "{seen!r} is no mark: {fault}.",
    "ISO 6346 clause 4.1",
    Certainty.READ,
    "The text is not four letters, six digits and a check digit. The mark is not adopted; those it "
    "may have been misread from are suggested.",
)
CATEGORY_LETTER = Rule(
    "mark.category-letter",
    Severity.DOUBT,
    "The fourth letter of {mark} is {seen}, which is no category letter.",
    "ISO 6346 clause 4.1",
    Certainty.READ,
    "The fourth letter is none of U, J and Z and belongs to no other scheme known. The mark is not "
    "adopted; refrigerated boxes carry a U like others and are told by their size-type code.",
)
OTHER_SCHEME = Rule(
    "mark.other-scheme",
    Severity.DOUBT,
    "The fourth letter of {mark} is {seen}: it marks a {means} by {scheme}, not a container.",
    "EN 13044",
    Certainty.ONE_TEXT,
    "The fourth letter is one that swap bodies and semi-trailers carry. The mark is not adopted as "
    "a container's until somebody has looked.",
)
CHECK_DIGIT = Rule(
    "mark.check-digit",
    Severity.DOUBT,
    "The check digit of {mark} reads {seen}, but {expected} belongs to its letters and serial.",
    _ANNEX,
    Certainty.READ,
    "One character at least was misread or painted wrong. The mark is not adopted; those it may "
    "have been misread from are suggested.",
)
CHECK_DIGIT_MISSING = Rule(
    "mark.check-digit-missing",
    Severity.WARN,
    "{mark} was read without its check digit; {expected} belongs to it.",
    _ANNEX,
    Certainty.READ,
    "Only ten characters were read. The mark is adopted with the digit that belongs to it, but "
    "nothing shows a misread: compare it with the box.",
)
REMAINDER_TEN = Rule(
    "mark.remainder-ten",
    Severity.NOTE,
    "The sum of this mark leaves remainder {seen}, written as check digit {expected}; serials like "
    "it are advised against, but in use.",
    _ANNEX,
    Certainty.MEMORY,
    "The mark is right and adopted. The digit 0 stands for remainders 0 and 10, so that a misread "
    "shows less surely here than elsewhere.",
)
OWNER_CODE_LOOK_ALIKE = Rule(
    "mark.owner-code-look-alike",
    Severity.WARN,
    "Owner code {seen} is new here and one letter away from {known}; the check digit does not "
    "always tell them apart.",
    "letters that look alike, and letters of equal residue by ISO 6346 Annex A",
    Certainty.PRACTICE,
    "The owner code is not known to the depot but turns into a known one by a letter that looks "
    "alike or counts alike in the check digit. The mark is adopted: compare the letters.",
)

RULES: Final[tuple[Rule, ...]] = (
    SHAPE,
    CATEGORY_LETTER,
    OTHER_SCHEME,
    CHECK_DIGIT,
    CHECK_DIGIT_MISSING,
    REMAINDER_TEN,
    OWNER_CODE_LOOK_ALIKE,
)

_REMAINDER_TEN_FOUND: Final = REMAINDER_TEN.finding(_FIELD, seen=10, expected=0)
"""Made once: it says the same of every mark, and every eleventh has it."""


class MarkJudgement(NamedTuple):
    """What is to be thought of a mark as read. Adopts nothing itself."""

    findings: list[Finding]
    mark: str | None
    """The normal form to adopt, digit included; None when it is in doubt."""
    decoded: dict[str, str | None]
    """`owner`, `category`, `category_means`, `serial` and `check_digit` (as read); empty without
    the shape of a mark."""
    suggestions: tuple[Suggestion, ...]
    """Marks it may have been misread from, the likeliest first, at most six."""


def judge_mark(as_read: str, known: KnownMarks) -> MarkJudgement:
    """Judge a mark as somebody read it.

    `known` is asked for candidates only when there is something to suggest, and then once.
    """
    read = marks.find_compact(as_read)
    if read is None:
        fault = marks.shape_fault(as_read)
        shape = SHAPE.finding(_FIELD, seen=as_read, fault=fault)
        return MarkJudgement([shape], None, {}, misreads.suggest(as_read, known))
    remainder = marks.remainder(read[:10])
    digit = marks.FOLDED_DIGITS[remainder]
    findings = [] if read[10:] == digit else [_judge_digit(read, digit)]
    if read[3] not in marks.ISO_CATEGORY_LETTERS:
        findings.append(_judge_category(read))
    if any(finding.severity is Severity.DOUBT for finding in findings):
        return MarkJudgement(findings, None, _decode(read), misreads.suggest(read, known))
    if remainder == 10:
        findings.append(_REMAINDER_TEN_FOUND)
    mark = read[:10] + digit
    owners = misreads.similar_owner_codes(read[:3], known.owner_codes)
    if owners:
        seen, names = read[:3], " or ".join(owners)
        findings.append(
            OWNER_CODE_LOOK_ALIKE.finding(_FIELD, seen=seen, expected=owners, known=names)
        )
    doubtful = owners or len(read) == 10
    suggestions = _worth_comparing(read, mark, owners, known) if doubtful else ()
    return MarkJudgement(findings, mark, _decode(read), suggestions)


def _judge_digit(read: str, digit: str) -> Finding:
    mark, expected = marks.written(read[:10]), int(digit)
    if len(read) == 10:
        return CHECK_DIGIT_MISSING.finding(_FIELD, expected=expected, mark=mark)
    return CHECK_DIGIT.finding(_FIELD, seen=int(read[10]), expected=expected, mark=mark)


def _judge_category(read: str) -> Finding:
    mark, letter = marks.written(read), read[3]
    expected = list(marks.ISO_CATEGORY_LETTERS)
    other = CATEGORIES.get(letter)
    if other is None:
        return CATEGORY_LETTER.finding(_FIELD, seen=letter, expected=expected, mark=mark)
    return OTHER_SCHEME.finding(
        _FIELD,
        seen=letter,
        expected=expected,
        mark=mark,
        means=other.means,
        scheme=other.scheme.value,
    )


def _worth_comparing(
    read: str, mark: str, owners: list[str], known: KnownMarks
) -> tuple[Suggestion, ...]:
    """Return what an adopted mark may be instead: known marks, and those of the similar owners."""
    found = misreads.suggest(read, known)
    if any(one.mark == mark and one.standing for one in found):
        return ()
    return tuple(
        one for one in found if one.mark != mark and (one.standing or one.mark[:3] in owners)
    )


def _decode(read: str) -> dict[str, str | None]:
    category = CATEGORIES.get(read[3])
    return {
        "owner": read[:3],
        "category": read[3],
        "category_means": category.means if category else None,
        "serial": read[4:10],
        "check_digit": read[10:] or None,
    }
