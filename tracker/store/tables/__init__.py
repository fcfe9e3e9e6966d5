"""The tables, as SQLAlchemy Core knows them. The migrations make them; a test compares both.

Constraints are named in full, so that an error of the database can be read by name. `json`, not
`jsonb`, holds what a digest or a byte-for-byte comparison rests on: it keeps the text as written.
"""

from tracker.store.tables.accounts import (
    ACCOUNT_ROLES,
    ACCOUNT_SUBJECTS,
    ACCOUNTS,
    MACHINE_KEYS,
    SESSIONS,
    SIGN_IN_ATTEMPTS,
)
from tracker.store.tables.histories import FOLDED, HEADS, HISTORY, MARKS, MOVES, PERSONAL_VALUES
from tracker.store.tables.house import CONTACTS, DEPOTS, DUTIES, STOCK_CHECKS, WORK_ITEMS
from tracker.store.tables.metadata import METADATA
from tracker.store.tables.photos import PHOTO_SENDERS, PHOTO_USES, PHOTOS
from tracker.store.tables.queue import INTAKE, LANE_ATTEMPTS, RECEIPTS, UNREADABLE
from tracker.store.tables.records import (
    IS_HERE,
    MARK_BACKWARDS,
    MARK_OR_NONE,
    ORDERS,
    QUESTIONS,
    RECORDS,
)
from tracker.store.tables.told import ALERT_ANSWERS, ALERTS, OUTBOX, ROOTS, ROUNDS

__all__ = [
    "ACCOUNTS",
    "ACCOUNT_ROLES",
    "ACCOUNT_SUBJECTS",
    "ALERTS",
    "ALERT_ANSWERS",
    "CONTACTS",
    "DEPOTS",
    "DUTIES",
    "FOLDED",
    "HEADS",
    "HISTORY",
    "INTAKE",
    "IS_HERE",
    "LANE_ATTEMPTS",
    "MACHINE_KEYS",
    "MARKS",
    "MARK_BACKWARDS",
    "MARK_OR_NONE",
    "METADATA",
    "MOVES",
    "ORDERS",
    "OUTBOX",
    "PERSONAL_VALUES",
    "PHOTOS",
    "PHOTO_SENDERS",
    "PHOTO_USES",
    "QUESTIONS",
    "RECEIPTS",
    "RECORDS",
    "ROOTS",
    "ROUNDS",
    "SESSIONS",
    "SIGN_IN_ATTEMPTS",
    "STOCK_CHECKS",
    "UNREADABLE",
    "WORK_ITEMS",
]
