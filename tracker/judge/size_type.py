"""Findings of the family `size`: what a painted size-type code says, and what it leaves open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from schemas.findings import Finding, Severity
from shared.old_size_types import OldSizeType
from shared.size_type_description import Value, describe, describe_known_part
from shared.size_type_errors import SizeTypeUnassignedError, SizeTypeUnreadableError
from shared.size_type_guesses import guess_size_types
from shared.size_type_parts import MeaningChange, TypeMeaning
from shared.size_types import SizeType, normalise, read_size_type
from shared.table_files import Certainty
from tracker.judge import size_type_seen as seen_rules
from tracker.judge.rules import Rule
from tracker.judge.size_type_seen import FIELD

UNREADABLE = Rule(
    id="size.unreadable",
    severity=Severity.DOUBT,
    sentence="{seen!r} is no size-type code: it has four characters, the third a letter, such as "
    "22G1, or before 1996 four digits, such as 2210.{near}",
    source="ISO 6346, size-type code",
    certainty=Certainty.READ,
    means="The text has not the shape of a size-type code. It is not adopted; read it again.",
)
UNASSIGNED = Rule(
    id="size.unassigned",
    severity=Severity.DOUBT,
    sentence="{characters} in {seen} is no {part} code: {why}.{near}",
    source="ISO 6346 Annex D; BIC size-type leaflet",
    certainty=Certainty.READ,
    means="A part of the code is known to be unassigned in the editions read. The value is not "
    "adopted; painted so with a photo is a valid answer and makes a re-marking task.",
)
UNLISTED = Rule(
    id="size.unlisted",
    severity=Severity.WARN,
    sentence="What {characters} in {seen} means as a {part} code is not known: {why}.{near}",
    source="ISO 6346; the list of the 2022 edition was not obtained",
    certainty=Certainty.MEMORY,
    means="A part of the code is in no table that was read, which does not make it wrong. It is "
    "kept as painted; look again and say what the box is.",
)
OLD_CODE = Rule(
    id="size.old-code",
    severity=Severity.WARN,
    sentence="{seen} is a numeric code from before 1996: {says}. {maps}{losses}{unsure}",
    source="old numeric coding, as published; the mapping to a code of today is Hardstand's",
    certainty=Certainty.DERIVED,
    means="The box still bears a code from before 1996. It is kept as painted and never converted "
    "by itself: the sentence says what the nearest code of today would lose or only assume.",
)
AMBIGUOUS = Rule(
    id="size.ambiguous",
    severity=Severity.WARN,
    sentence="{seen} can be read two ways: {expected[0]}, or {expected[1]}. Which is it?",
    source="ISO 6346:1995 group codes against Amd 3:2012, reduced strength",
    certainty=Certainty.DERIVED,
    means="TD and TG are a group code of tanks, or a detailed code of reduced strength. Ask who "
    "knows the box, and read the safety plate; nothing is guessed.",
)
GROUP_CODE = Rule(
    id="size.group-code",
    severity=Severity.NOTE,
    sentence="{seen} ends in the group code {group} ({text}): the details are not told.",
    source="BIC size-type leaflet, group codes",
    certainty=Certainty.ONE_TEXT,
    means="Only the group of the type is painted, as is right when the details are not known.",
)
REDUCED_STRENGTH = Rule(
    id="size.reduced-strength",
    severity=Severity.WARN,
    sentence="The last letter of {seen} says reduced strength: a {expected} with less stacking or "
    "racking than full strength. Read both on the safety plate.",
    source="ISO 6346:1995/Amd 3:2012, fourth character of the type",
    certainty=Certainty.READ,
    means="Stacking or racking lies below full strength. The plate tells how far; the box must "
    "not go where full strength is taken for granted.",
)
EDITION_CHANGED_MEANING = Rule(
    id="size.edition-changed-meaning",
    severity=Severity.WARN,
    sentence="The amendment of 2012 changed what B3 to B9 mean. {seen} is {expected}. "
    "When was it painted?",
    source="ISO 6346:1995 Annex D against Amd 3:2012",
    certainty=Certainty.ONE_TEXT,
    means="B3 to B9 mean one thing before and another after the amendment of 2012.",
)
UNCONFIRMED_MEANING = Rule(
    id="size.unconfirmed-meaning",
    severity=Severity.WARN,
    sentence="{seen} is taken to mean {expected}; no text confirms it ({why}).",
    source="ISO 6346 type codes, not confirmed by a text",
    certainty=Certainty.MEMORY,
    means="The meaning rests on memory or on what the trade does. Look whether the box agrees.",
)
RULES: Final = (
    UNREADABLE,
    UNASSIGNED,
    UNLISTED,
    OLD_CODE,
    AMBIGUOUS,
    GROUP_CODE,
    REDUCED_STRENGTH,
    EDITION_CHANGED_MEANING,
    UNCONFIRMED_MEANING,
    *seen_rules.RULES,
)
_UNSURE: Final = (Certainty.MEMORY, Certainty.PRACTICE)


@dataclass(frozen=True, slots=True)
class SizeTypeJudgement:
    """What was found about a code as painted.

    `normalised` is the code to adopt, None when it is doubted; a numeric code stays numeric.
    `size_type` is None when some part of the code has no meaning.
    """

    as_painted: str
    findings: list[Finding]
    normalised: str | None
    size_type: SizeType | OldSizeType | None

    @property
    def decoded(self) -> dict[str, Value]:
        """Return the decoded values, ready for JSON; what is known when the type means nothing."""
        if self.size_type is not None:
            return describe(self.size_type)
        return describe_known_part(normalise(self.as_painted))


def judge_size_type(
    as_painted: str,
    *,
    vents_counted: int | None = None,
    height_marks_seen: bool | None = None,
    door_height_mm: int | None = None,
    length_mm: int | None = None,
) -> SizeTypeJudgement:
    """Judge a code as painted, and against what was seen; None stands for what nobody looked at.

    Args:
        as_painted: The code in any spacing and case.
        vents_counted: Small vents counted, without louvres fitted afterwards.
        height_marks_seen: Whether height figures and striped corners are there.
        door_height_mm: Height of the door opening.
        length_mm: Length outside.

    Returns:
        Findings of the code first; a list of the caller's own.
    """
    # Cached over all arguments: a depot sees few codes and few counts, and every event asks.
    findings, normalised, size_type = _judge(
        as_painted, vents_counted, height_marks_seen, door_height_mm, length_mm
    )
    return SizeTypeJudgement(as_painted, list(findings), normalised, size_type)


_Judged = tuple[tuple[Finding, ...], str | None, SizeType | OldSizeType | None]


@lru_cache(maxsize=8192)
def _judge(
    as_painted: str,
    vents: int | None,
    marks: bool | None,  # noqa: FBT001 - a cache key, called from one place
    door_mm: int | None,
    length_mm: int | None,
) -> _Judged:
    findings, normalised, size_type = _judge_code(as_painted)
    if size_type is None:
        return findings, normalised, None
    found = list(findings)
    found.extend(seen_rules.judge_height_marks(size_type, seen=marks))
    if vents is not None:
        found.extend(seen_rules.judge_vents(size_type, vents))
    if door_mm is not None and isinstance(size_type, SizeType):
        found.extend(seen_rules.judge_door_height(size_type, door_mm))
    if length_mm is not None:
        found.extend(seen_rules.judge_length(size_type, length_mm))
    return tuple(found), normalised, size_type


def _judge_code(as_painted: str) -> _Judged:
    try:
        size_type = read_size_type(as_painted)
    except SizeTypeUnreadableError:
        return (_unreadable(as_painted),), None, None
    except SizeTypeUnassignedError as fault:
        normalised = None if fault.is_sure else fault.text
        return (_meaningless(fault),), normalised, None
    found = _judge_old(size_type) if isinstance(size_type, OldSizeType) else _judge_new(size_type)
    return tuple(found), size_type.code, size_type


def _unreadable(as_painted: str) -> Finding:
    near = guess_size_types(as_painted)
    return UNREADABLE.finding(FIELD, seen=as_painted, expected=list(near), near=_near(near))


def _meaningless(fault: SizeTypeUnassignedError) -> Finding:
    rule = UNASSIGNED if fault.is_sure else UNLISTED
    near = guess_size_types(fault.text)
    return rule.finding(
        FIELD,
        seen=fault.text,
        expected=list(near),
        characters=fault.code,
        part=fault.part,
        why=fault.source,
        near=_near(near),
    )


def _near(near: tuple[str, ...]) -> str:
    return f" Codes that look like it: {', '.join(near)}." if near else ""


def _judge_old(old: OldSizeType) -> Iterator[Finding]:
    tunnel = "with a gooseneck tunnel" if old.has_tunnel else "no gooseneck tunnel"
    maps = f"Nearest today: {old.suggested}." if old.suggested else "No code of today is near it."
    yield OLD_CODE.finding(
        FIELD,
        seen=old.code,
        expected=old.suggested,
        says=f"{old.length_ft} ft, {old.height}, {tunnel}, {old.type_text}",
        maps=maps,
        losses=f" Lost or not certain: {'; '.join(old.losses)}." if old.losses else "",
        unsure=" Part of this reading is from memory." if old.certainty in _UNSURE else "",
    )


def _judge_new(size_type: SizeType) -> Iterator[Finding]:
    if size_type.is_ambiguous:
        ways = [_way(meaning) for meaning in size_type.meanings]
        yield AMBIGUOUS.finding(FIELD, seen=size_type.code, expected=ways)
        return
    if any(one.change is MeaningChange.CHANGED for one in size_type.meanings):
        yield _edition_changed(size_type)
    for meaning in size_type.meanings:
        yield from _judge_meaning(size_type.code, meaning)


def _judge_meaning(code: str, meaning: TypeMeaning) -> Iterator[Finding]:
    if meaning.detail is None:
        yield GROUP_CODE.finding(FIELD, seen=code, group=meaning.group, text=meaning.text)
    if meaning.reduced:
        yield REDUCED_STRENGTH.finding(FIELD, seen=code, expected=f"{code[:2]}{meaning.detail}")
    if meaning.certainty in _UNSURE:
        words = _way(meaning)
        yield UNCONFIRMED_MEANING.finding(FIELD, seen=code, expected=words, why=meaning.source)


def _way(meaning: TypeMeaning) -> str:
    """Return a meaning in words, with how it is coded."""
    if meaning.detail is None:
        return f"group {meaning.group} ({meaning.text})"
    strength = ", of reduced strength" if meaning.reduced else ""
    return f"{meaning.detail} ({meaning.text}){strength}"


def _edition_changed(size_type: SizeType) -> Finding:
    known = [f"{one.text} (ISO 6346:{one.edition.value})" for one in size_type.meanings]
    only = "; its other meaning is not known" if len(known) == 1 else ""
    return EDITION_CHANGED_MEANING.finding(
        FIELD, seen=size_type.code, expected=", or ".join(known) + only
    )
