"""The stock at a glance: what there is, how long it has stood, what comes due, what came and went.

Each table is counted in one statement and given whole, empty months and weeks too, so that a
picture and its table say the same.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from zoneinfo import ZoneInfo

from schemas.events.condition import Condition
from shared.errors import KnowledgeError
from shared.months import Month
from shared.size_types import SizeType, read_size_type
from tracker.services.actor import Person
from tracker.services.context import Context
from tracker.services.sight import Sight, sight_of
from tracker.store import glance, house
from tracker.store.engine import one_moment

WEEKS: Final = 13
MONTHS: Final = 13

STAYS: Final = (
    ("up to 2 weeks", 14),
    ("to 1 month", 30),
    ("to 3 months", 91),
    ("to 6 months", 182),
    ("to 1 year", 365),
    ("longer", None),
)
"""How long units have stood, in days up to which each counts."""

UNREAD: Final = "size not read"
UNDECIDED: Final = "not decided"


@dataclass(frozen=True, slots=True)
class Counted:
    """A table of counts: one label per row, one number per column."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[int, ...]], ...]

    @property
    def total(self) -> int:
        """Return the sum of all counts."""
        return sum(sum(numbers) for _, numbers in self.rows)


@dataclass(frozen=True, slots=True)
class Glance:
    """The stock of the depots asked for, as it is now."""

    here: int
    by_size: Counted
    by_deal: Counted
    by_stay: Counted
    examinations: Counted
    missed: int
    """Units here whose examination was due before this month."""
    gate: Counted
    zone: str


@dataclass(frozen=True, slots=True)
class Totals:
    """What stands open at the depots of whoever asks, and nobody has answered."""

    questions: int
    alerts: dict[str, int]
    newest: str
    """When the newest question was opened."""
    theirs: int
    """How many alerts, breaches left out, are for the roles of whoever asks."""

    @property
    def state(self) -> str:
        """Return a text that is another when what stands open is."""
        kinds = " ".join(f"{kind}={count}" for kind, count in sorted(self.alerts.items()))
        return f"{self.questions} {self.newest} {kinds}"

    @property
    def breaches(self) -> int:
        """Return how many breaches nobody has seen to."""
        return self.alerts.get("breach", 0)

    @property
    def due(self) -> int:
        """Return how many other alerts stand."""
        return sum(self.alerts.values()) - self.breaches


def look(context: Context, sight: Sight, depot: str | None = None) -> Glance:
    """Return the stock at a glance, of one depot of theirs or of all of them."""
    depots = among(sight, depot)
    # Its tables are to agree: what is counted as reserved by one is taken out of it by another.
    with one_moment(context.engine) as connection:
        zone = _zone_of(house.list_depots(connection), depots)
        now = context.clock.now().astimezone(ZoneInfo(zone))
        this_month = Month.of(now.date())
        kinds = glance.count_by_size_and_condition(connection, depots)
        ended = glance.count_reserved_no_more(connection, depots, now)
        edges = [now - timedelta(days=days) for _, days in STAYS if days is not None]
        stays = glance.count_by_arrival(connection, depots, edges)
        last = this_month.plus(MONTHS - 1)
        due = glance.count_examinations(
            connection, depots, this_month.first_day(), last.first_day()
        )
        missed = glance.count_examinations_missed(connection, depots, this_month.first_day())
        monday = now.date() - timedelta(days=now.weekday() + 7 * (WEEKS - 1))
        since = datetime(monday.year, monday.month, monday.day, tzinfo=ZoneInfo(zone))
        gate = glance.count_gate(connection, depots, since, zone)
    return Glance(
        here=sum(kind["units"] for kind in kinds),
        by_size=_by_size(kinds),
        by_deal=_by_deal(kinds, ended),
        by_stay=_by_stay(stays),
        examinations=_by_month(due, this_month),
        missed=missed,
        gate=_by_week(gate, monday),
        zone=zone,
    )


def count_open(context: Context, person: Person) -> Totals:
    """Return how much stands open at their depots."""
    depots = sight_of(person).depots
    with context.engine.begin() as connection:
        questions, newest = glance.count_open_questions(connection, depots)
        alerts, theirs = glance.count_unanswered_alerts(connection, depots, person.pairs)
        return Totals(questions, alerts, newest.isoformat() if newest else "", theirs)


def among(sight: Sight, depot: str | None) -> Collection[str] | None:
    """Return the depots to look at: the one asked for where it may be seen, else all of theirs."""
    if depot is None:
        return sight.depots
    return [depot] if sight.reaches(depot) else []


def size_group(size_type: str | None) -> str:
    """Return the length of a size-type in words, and whether it is high."""
    if size_type is None:
        return UNREAD
    try:
        read = read_size_type(size_type)
    except KnowledgeError:
        return UNREAD
    if not isinstance(read, SizeType):
        return f"{read.length_ft} ft"
    return f"{read.length.words} high" if read.needs_height_marks else read.length.words


def _by_size(kinds: Iterable[dict[str, Any]]) -> Counted:
    columns = (*(one.value for one in Condition), UNDECIDED)
    counts: dict[str, Counter[str]] = {}
    for kind in kinds:
        row = counts.setdefault(size_group(kind["size_type"]), Counter())
        row[kind["condition"] or UNDECIDED] += kind["units"]
    rows = tuple(
        (label, tuple(counts[label][column] for column in columns))
        for label in sorted(counts, key=_by_length)
    )
    return Counted(columns, rows)


def _by_length(label: str) -> tuple[bool, int, str]:
    number, _, _ = label.partition(" ")
    return (not number.isdigit(), int(number) if number.isdigit() else 0, label)


def _by_deal(kinds: Iterable[dict[str, Any]], ended: int) -> Counted:
    counts: Counter[str] = Counter()
    for kind in kinds:
        counts[kind["stands"]] += kind["units"]
    counts["reserved"] -= ended
    counts["free"] += ended
    deals = ("free", "reserved", "sold", "released")
    return Counted(("units",), tuple((deal, (counts[deal],)) for deal in deals))


def _by_stay(stays: dict[int | None, int]) -> Counted:
    rows = [(label, (stays.get(number, 0),)) for number, (label, _) in enumerate(STAYS)]
    if unknown := stays.get(None):
        rows.append(("arrival not reported", (unknown,)))
    return Counted(("units",), tuple(rows))


def _by_month(due: Iterable[dict[str, Any]], first: Month) -> Counted:
    counts = {Month.of(row["month"]): row["units"] for row in due}
    months = [first.plus(ahead) for ahead in range(MONTHS)]
    return Counted(("units",), tuple((str(one), (counts.get(one, 0),)) for one in months))


def _by_week(gate: Iterable[dict[str, Any]], first: date) -> Counted:
    counts: Counter[tuple[date, str]] = Counter()
    for row in gate:
        monday = row["day"] - timedelta(days=row["day"].weekday())
        counts[monday, row["kind"]] += row["units"]
    weeks = [first + timedelta(weeks=number) for number in range(WEEKS)]
    rows = tuple(
        (week.isoformat(), (counts[week, "gate-in"], counts[week, "gate-out"])) for week in weeks
    )
    return Counted(("came in", "left"), rows)


def _zone_of(depots: list[dict[str, Any]], wanted: Collection[str] | None) -> str:
    """Return the zone in which weeks and months are told: that of the first depot asked for."""
    zones = [one["zone"] for one in depots if wanted is None or one["code"] in wanted]
    return str(zones[0]) if zones else "UTC"
