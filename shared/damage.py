"""What can be damaged, how, and how it is mended: plain words, and the letters that are sure.

Inside Hardstand everything goes by plain keys. ISO 9897 letters are written only at the edge, and
only those a text was read for; where there are none, the words go out instead.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType

from shared.errors import KnowledgeError
from shared.table_files import Certainty, TableRow, load_table


class DamageKind(StrEnum):
    """What is wrong with a component."""

    BENT = "bent"
    BOWED = "bowed"
    BLOCKED = "blocked"
    BLOW_OUT = "blow-out"
    BROKEN = "broken"
    TREAD_WORN = "tread-worn"
    DENTED = "dented"
    CUT = "cut"
    HOLED = "holed"
    CORRODED = "corroded"
    MISSING = "missing"
    LOOSE = "loose"
    DELAMINATED = "delaminated"
    GOUGED = "gouged"
    ROTTED = "rotted"
    CRACKED = "cracked"
    CONTAMINATED = "contaminated"
    DIRTY = "dirty"
    OIL_STAINED = "oil-stained"
    ODOUR = "odour"
    DEBRIS = "debris"
    NAILS = "nails"
    LABELS = "labels"
    PAINT_FAILED = "paint-failed"
    WORN = "worn"
    BADLY_REPAIRED = "badly-repaired"
    LEAKING = "leaking"
    SEIZED = "seized"
    BURNED = "burned"
    WARPED = "warped"


class Component(StrEnum):
    """What is damaged. The first nine have limits in the Convention's control table."""

    TOP_RAIL = "top-rail"
    BOTTOM_RAIL = "bottom-rail"
    HEADER = "header"
    SILL = "sill"
    CORNER_POST = "corner-post"
    CORNER_FITTING = "corner-fitting"
    INTERMEDIATE_FITTING = "intermediate-fitting"
    UNDERSTRUCTURE = "understructure"
    LOCKING_ROD = "locking-rod"
    CROSS_MEMBER = "cross-member"
    GOOSENECK_TUNNEL = "gooseneck-tunnel"
    FORK_POCKET = "fork-pocket"
    SIDE_PANEL = "side-panel"
    FRONT_PANEL = "front-panel"
    ROOF_PANEL = "roof-panel"
    ROOF_BOW = "roof-bow"
    DOOR_PANEL = "door-panel"
    DOOR_GASKET = "door-gasket"
    DOOR_HINGE = "door-hinge"
    DOOR_HANDLE = "door-handle"
    LOCKING_CAM = "locking-cam"
    LOCK_BOX = "lock-box"
    FLOOR = "floor"
    LASHING_POINT = "lashing-point"
    SMALL_VENT = "small-vent"
    LOUVRE_VENT = "louvre-vent"
    SAFETY_PLATE = "safety-plate"
    MARKING = "marking"
    PAINT = "paint"
    WHOLE_CONTAINER = "whole-container"


class RepairKind(StrEnum):
    """How damage is mended."""

    REPLACE = "replace"
    REMOVE_AND_REFIT = "remove-and-refit"
    STRAIGHTEN = "straighten"
    STRAIGHTEN_AND_WELD = "straighten-and-weld"
    WELD = "weld"
    PATCH = "patch"
    INSERT = "insert"
    SECTION = "section"
    REFIT = "refit"
    SEAL = "seal"
    PAINT = "paint"
    FREE_UP = "free-up"
    WASH = "wash"
    SWEEP = "sweep"
    CLEAN_CHEMICALLY = "clean-chemically"


Term = DamageKind | Component | RepairKind


class DamageWordError(KnowledgeError):
    """A text is no key of the damage words; carries it."""

    def __init__(self, text: str, words: type[Term]) -> None:
        self.text = text
        super().__init__(
            f"{text!r} is no {_CALLED[words]}",
            expected=f"one of {', '.join(sorted(words))}",
            remedy="Choose the nearest, and write the rest in the note",
        )


_CALLED: Mapping[type[Term], str] = {
    DamageKind: "kind of damage",
    Component: "component",
    RepairKind: "kind of repair",
}


@dataclass(frozen=True, slots=True)
class IsoLetters:
    """The ISO 9897 letters of a term, or the statement that none are sure.

    `letters` is None where no text was read; a message then carries `words`, and `says` tells why.
    """

    letters: str | None
    words: str
    says: str
    certainty: Certainty


def read_damage_kind(text: str) -> DamageKind:
    """Return the kind a key or its words name; raises `DamageWordError`."""
    return DamageKind(_key(text, DamageKind))


def read_component(text: str) -> Component:
    """Return the component a key or its words name; raises `DamageWordError`."""
    return Component(_key(text, Component))


def read_repair_kind(text: str) -> RepairKind:
    """Return the kind of repair a key or its words name; raises `DamageWordError`."""
    return RepairKind(_key(text, RepairKind))


def words_for(term: Term) -> str:
    """Return a term in words a person reads."""
    return _rows(type(term))[term.value]["words"]


def has_control_limits(component: Component) -> bool:
    """Say whether the Convention's control table has limits for a component."""
    return _rows(Component)[component.value]["control_table"] == "yes"


def iso_9897_letters(term: Term) -> IsoLetters:
    """Return the letters for a message; never letters that no text was read for."""
    row, words = _rows(type(term))[term.value], words_for(term)
    if isinstance(term, DamageKind) and row["letters"]:
        return IsoLetters(row["letters"], words, row.source, row.certainty)
    says = f"no ISO 9897 letters for {words!r} are sure; send the words"
    return IsoLetters(None, words, says, row.certainty)


def kind_for_letters(letters: str) -> DamageKind | None:
    """Return the kind that sure ISO 9897 letters mean, None for letters that are not sure."""
    wanted = letters.strip().upper()
    rows = _rows(DamageKind).values()
    return next(
        (DamageKind(row["key"]) for row in rows if wanted and row["letters"] == wanted), None
    )


def _key(text: str, words: type[Term]) -> str:
    said = _loosely(text)
    for key, row in _rows(words).items():
        if said in (_loosely(key), _loosely(row["words"])):
            return key
    raise DamageWordError(text, words)


def _loosely(text: str) -> str:
    return " ".join(text.replace("-", " ").replace("_", " ").split()).casefold()


@cache
def _rows(words: type[Term]) -> Mapping[str, TableRow]:
    """Return the table of one vocabulary. By class: equal keys of two classes are equal texts."""
    return MappingProxyType({row["key"]: row for row in load_table(_TABLES[words])})


_TABLES: Mapping[type[Term], str] = {
    DamageKind: "damage_kinds",
    Component: "components",
    RepairKind: "repairs",
}
