"""Random streams of events as depots send them: late, twice, misread, contradicting, put right."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

from schemas.events.union import KINDS
from schemas.records import Question, is_free
from tests.support.events import OF_KIND, PLATE, SUM_MASSES, bad_digit, make_mark
from tests.support.model import Model

FLEET = [make_mark(serial) for serial in (1, 2, 3, 300, 301, 302)] + [
    make_mark(77, "ZZXU"),
    make_mark(78, "HQXU"),
]
STOCK = [make_mark(serial, "QXWU") for serial in range(30)]
_PEOPLE = ("Ada Quill", "Tom Reed", "Orin Vale")
_TRADE = (
    *("gate-in", "clearance") * 5,
    *("order", "release") * 3,
    *("cancellation", "take-back") * 2,
    *("passing-on", "payment", "payment"),
    *("gate-out", "sale", "reservation", "correction"),
)
_COMMON = ("gate-in", "gate-out", "inspection", "sale", "release", "answer", "correction")
_CANCELLED = ("reservation", "sale", "release", "work-order", "order", "release", "clearance")
_DAYS = {
    "payment": "paid_on",
    "release": "expires_at",
    "reservation": "until",
    "work-order": "due_on",
    "acquisition": "title_passed_on",
}
_USES = ("storage", "export", "transport")
_PURPOSES = ("purchase", "sale", "transfer", "take-back", "customer-box", "hire")


@dataclass(slots=True)
class Stream:
    """Makes events one by one. What it may answer it sees in the model."""

    rnd: Random
    now: datetime
    trades: bool = False
    """Mostly units that come in free and are sold by quantity, and more of them."""
    made: int = 0
    sent: list[dict[str, Any]] = field(default_factory=list)
    orders: list[str] = field(default_factory=list)
    free: list[str] = field(default_factory=list)
    references: list[str] = field(default_factory=list)
    on_orders: list[str] = field(default_factory=list)
    """What a cancellation of or on an order may name."""
    live: list[str] = field(default_factory=list)
    """The references on orders that still open the barrier."""

    def make(self, model: Model, count: int) -> list[dict[str, Any]]:
        """Return the next `count` events, some of them sent before."""
        questions = [
            question for unit in model.histories for question in model.record(unit).questions
        ]
        self._look_at_orders(model)
        return [self._next(questions) for _ in range(count)]

    def _look_at_orders(self, model: Model) -> None:
        records = [model.record(unit) for unit in model.histories]
        self.free = [one.mark for one in records if one.mark is not None and is_free(one, self.now)]
        orders = [model.order(order) for order in model.orders]
        self.orders = [one.order_id for one in orders if one.outstanding or not self.trades]
        notes = [note for order in orders for note in order.collection]
        self.on_orders = [*self.orders, *(note.id for note in notes)]
        self.on_orders += [one.sale.id for one in records if one.sale and one.sale.order] * 2
        self.live = [note.reference for note in notes if note.used < note.count]
        self.references = [one.release.reference for one in records if one.release is not None]
        self.references += [note.reference for note in notes]

    def _next(self, questions: list[Question]) -> dict[str, Any]:
        rnd = self.rnd
        if self.sent and rnd.random() < 0.04:
            return rnd.choice(self.sent)
        common, share = (_TRADE, 0.92) if self.trades else (_COMMON, 0.55)
        kind = rnd.choice(common if rnd.random() < share else tuple(KINDS))
        self.made += 1
        event = {
            "kind": kind,
            "id": str(UUID(int=rnd.getrandbits(128))),
            "depot": rnd.choice(("NORTH",) * (9 if self.trades else 3) + ("SOUTH",)),
            "happened_at": self._moment(),
            "reported_by": rnd.choice(_PEOPLE),
            **OF_KIND[kind],
        }
        match kind:
            case "answer":
                event |= self._answer(questions)
            case "correction":
                event |= self._correction()
            case "order":
                event |= self._order()
                event["depot"] = "NORTH" if self.trades else event["depot"]
            case "passing-on":
                event |= self._passing_on()
            case "payment" if self.orders and self.rnd.random() < 0.6:
                event |= {"pays": self.rnd.choice(self.orders)}
            case "cancellation" if self.trades and self.on_orders and self.rnd.random() < 0.7:
                event |= {"cancels": self.rnd.choice(self.on_orders)}
            case "cancellation" if self.rnd.random() < 0.3:
                event |= self._details(kind)
            case "release" if self.rnd.random() < 0.3:
                event |= self._details(kind) | self._on_order(self.rnd.randrange(1, 3))
            case _:
                event |= self._names() | self._details(kind)
        return self._say(event)

    def _say(self, event: dict[str, Any]) -> dict[str, Any]:
        day = _DAYS.get(event["kind"])
        if day is not None and self.rnd.random() < 0.15:
            event |= self._day(day)
        said = {name: value for name, value in event.items() if value is not None}
        self.sent.append(said)
        return said

    def _day(self, name: str) -> dict[str, Any]:
        """Name a day or moment, as often on the wrong side of now as on the right one."""
        at = self.now + timedelta(days=self.rnd.choice((-4, 40)))
        return {name: at.date().isoformat() if name.endswith("_on") else at.isoformat()}

    def _moment(self) -> str:
        rnd, at = self.rnd, self.now
        if rnd.random() < 0.05:
            at += timedelta(minutes=rnd.choice((5, 14, 200)))
        elif rnd.random() < 0.5:
            at -= timedelta(minutes=rnd.randrange(3 * 24 * 60))
        return at.isoformat()

    def _mark(self) -> str:
        if self.trades and self.rnd.random() < 0.95:
            return self.rnd.choice(STOCK)
        mark, roll = self.rnd.choice(FLEET), self.rnd.random()
        if roll < 0.08:
            return bad_digit(mark)
        if roll < 0.12:
            return mark[:10]
        if roll < 0.16:
            return f"{mark[:4]} {mark[4:10]} {mark[10:]}".lower()
        return self.rnd.choice(("???", "NO PLATE")) if roll < 0.18 else mark

    def _tag(self) -> str:
        return str(self.rnd.randrange(4))

    def _names(self) -> dict[str, Any]:
        roll = self.rnd.random()
        if roll < 0.08:
            return {"tag": self._tag()}
        return {"mark": self._mark()} | ({"tag": self._tag()} if roll < 0.18 else {})

    def _masses(self) -> dict[str, int]:
        off = 250 if self.rnd.random() < 0.3 else 0
        return {**SUM_MASSES, "payload_kg": SUM_MASSES["payload_kg"] + off}

    def _plate(self) -> dict[str, Any]:
        made = "2031-01" if self.rnd.random() < 0.2 else "2025-01"
        return {**PLATE, "manufactured_in": made}

    def _readings(self) -> dict[str, Any]:
        rnd, read = self.rnd, dict[str, Any]()
        if rnd.random() < 0.5:
            read["masses"] = self._masses()
        if rnd.random() < 0.3:
            read["plate"] = {"no_plate": True} if rnd.random() < 0.1 else self._plate()
        if rnd.random() < 0.4:
            read["size_type"] = rnd.choice(("22G1", "45G1", "??", "22"))
        return read

    def _details(self, kind: str) -> dict[str, Any]:
        rnd = self.rnd
        match kind:
            case "gate-in" if self.trades and rnd.random() < 0.95:
                return {"size_type": rnd.choice(("22G1", "22G1", "45G1"))}
            case "gate-in":
                dented = {"damage_on_lorry": "dented"} if rnd.random() < 0.3 else {}
                return self._readings() | {"purpose": rnd.choice(_PURPOSES)} | dented
            case "inspection":
                urgency = rnd.choice(("soon", "before-release"))
                damage = {"component": "door-panel", "kind": "dented", "urgency": urgency}
                return self._readings() | {"damages": [damage] if rnd.random() < 0.3 else []}
            case "gate-out":
                to_depot = rnd.choice(("SOUTH", None))
                return {"purpose": rnd.choice(_PURPOSES), "to_depot": to_depot}
            case "modification":
                ordered = [one["id"] for one in self.sent[-60:] if one["kind"] == "work-order"]
                names = {"order": ordered[-1]} if ordered and self.made % 2 else {}
                return {"approval_effect": rnd.choice(("none", "ask", "void"))} | names
            case "marking":
                action = rnd.choice(("re-marked", "repainted"))
                return {"action": action, "new_mark": self._mark() if action[2] == "-" else None}
            case "plate-change":
                return {"action": rnd.choice(("removed", "replaced", "re-approved"))}
            case _:
                return self._decided(kind)

    def _decided(self, kind: str) -> dict[str, Any]:
        rnd = self.rnd
        match kind:
            case "reservation" | "sale":
                use = {"intended_use": rnd.choice(_USES)}
                return {"buyer": rnd.choice(_PEOPLE)} | use
            case "cancellation":
                return {"cancels": self._earlier(_CANCELLED)}
            case "release":
                on_order = self._on_order(1) if rnd.random() < 0.2 else {}
                return {"reference": rnd.choice((None, None, f"C {rnd.randrange(30)}"))} | on_order
            case "clearance" if self.trades and self.live and self.free and rnd.random() < 0.7:
                return {"reference": rnd.choice(self.live), "mark": rnd.choice(self.free)}
            case "clearance":
                given = rnd.choice(self.references) if self.references else "C 1"
                return {"reference": given.lower() if rnd.random() < 0.2 else given}
            case "payment":
                return {"pays": self._earlier(("sale", "sale", "order"))}
            case "hold-cleared":
                return {"clears": self._earlier(("hold",))}
            case "claim-closed":
                return {"closes": self._earlier(("gate-in",))}
            case _:
                return {}

    def _order(self) -> dict[str, Any]:
        rnd = self.rnd
        wanted: dict[str, Any] = {"length_ft": rnd.choice((20, 20, 40))}
        if rnd.random() < 0.2:
            wanted["high"] = True
        paid = rnd.random() < 0.9
        asked = {"buyer": rnd.choice(_PEOPLE), "intended_use": rnd.choice(_USES[:1] * 3 + _USES)}
        return {"description": wanted, "count": rnd.choice((1, 1, 2, 3)), "paid": paid} | asked

    def _passing_on(self) -> dict[str, Any]:
        rnd = self.rnd
        given = rnd.choice(self.references) if self.references else "C 1"
        count = rnd.choice((None, None, 1, 2))
        return {"reference": given, "collector": rnd.choice(_PEOPLE), "count": count}

    def _on_order(self, count: int) -> dict[str, Any]:
        order = self.rnd.choice(self.orders) if self.orders else str(UUID(int=7))
        return {"order": order, "count": count}

    def _earlier(self, kinds: tuple[str, ...]) -> str:
        back = 25 if self.trades else 60
        found = [one["id"] for one in self.sent[-back:] if one["kind"] in kinds]
        return str(self.rnd.choice(found)) if found else str(UUID(int=7))

    def _answer(self, questions: list[Question]) -> dict[str, Any]:
        if not questions or self.rnd.random() < 0.05:
            return {}
        rnd, question = self.rnd, self.rnd.choice(questions)
        settlement = rnd.choice(("value", "value", "value", "as-painted", "confirmed", "withdrawn"))
        values: dict[str, Any] = {"right_mark": self._mark()}
        match question.field.partition(".")[0]:
            case "masses":
                values = {"masses": self._masses()}
            case "plate":
                values = {"plate": self._plate()}
            case "size_type":
                values = {"size_type": "22G1"}
            case "happened_at":
                values = {"at": self._moment()}
            case _:
                pass
        return {"question": question.id, "settlement": settlement} | values

    def _correction(self) -> dict[str, Any]:
        rnd = self.rnd
        corrects = self._earlier(tuple(KINDS))
        if rnd.random() < 0.3:
            return {"corrects": corrects}
        changes = rnd.choice(
            (
                {"mark": self._mark()},
                {"mark": self._mark(), "tag": None},
                {"happened_at": self._moment()},
                {"masses": self._masses()},
                {"note": "said by the driver"},
                {"reported_by": rnd.choice(_PEOPLE)},
                {"buyer": rnd.choice(_PEOPLE)},
                {"depot": "SOUTH"},
                {"new_mark": self._mark()},
                {"photos": ["0" * 64]},
                {"nonsense": 1},
            )
        )
        return {"corrects": corrects, "withdrawn": False, "changes": changes}
