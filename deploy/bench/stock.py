"""A large invented stock: copies, made by SQL, of one unit that was judged for real."""

from __future__ import annotations

from datetime import date
from typing import Final

import orjson
from sqlalchemy import Connection, text

from deploy.bench.bench_house import House
from deploy.bench.bench_life import sold_and_here
from deploy.bench.recording import hand_in
from shared.marks import check_digit
from shared.months import Month
from tracker.services.drain_all import drain_all

SEED: Final = "ZZZU000000" + check_digit("ZZZU000000")
_EXAMINED: Final = "2030-06"

_UNITS: Final = """
CREATE TEMPORARY TABLE bench_units ON COMMIT DROP AS
SELECT md5('bench' || number)::uuid AS id, 'ZZQU' || lpad(number::text, 7, '0') AS mark,
    CASE WHEN number % 33 = 0 THEN :due ELSE :later END AS examined,
    CASE WHEN number % 100 = 0 THEN 1000 ELSE 4 END AS rows
FROM generate_series(CAST(:first AS int), CAST(:last AS int)) AS number
"""
_MARKS: Final = "INSERT INTO marks (subject, unit_id) SELECT mark, id FROM bench_units"
_HEADS: Final = """
INSERT INTO heads (stream_id, count, digest)
SELECT unit.id, seed.count, seed.digest FROM bench_units AS unit, heads AS seed
WHERE seed.stream_id = :seed
"""
_HISTORY: Final = """
INSERT INTO history (stream_id, seq, event_id, kind, effective_at, recorded_at, body, digest)
SELECT unit.id, seed.seq, md5(unit.id::text || seed.seq)::uuid, seed.kind, seed.effective_at,
    seed.recorded_at, seed.body, seed.digest
FROM bench_units AS unit, history AS seed
WHERE seed.stream_id = :seed AND seed.seq <= unit.rows
"""
# Whatever columns there are: all of the seed's row, but for what names and dates the unit. They
# are sold for export, since stock that goes nowhere owes no examination.
_RECORDS: Final = """
INSERT INTO records
SELECT made.*
FROM records AS seed, bench_units AS unit, LATERAL jsonb_populate_record(
    NULL::records,
    to_jsonb(seed) || jsonb_build_object(
        'unit_id', unit.id, 'mark', unit.mark, 'examination_on', unit.examined || '-01',
        'presence', 'in-depot', 'stands', 'free', 'free', false,
        'owes_on', to_date(unit.examined, 'YYYY-MM') - 91,
        'body', replace(replace(replace(replace(
            seed.body::text, seed.unit_id::text, unit.id::text), seed.mark, unit.mark),
            :examined, unit.examined),
            '"intended_use":"storage"', '"intended_use":"export"')::jsonb
    )
) AS made
WHERE seed.unit_id = :seed
"""


def plant(house: House) -> None:
    """Judge the life of one unit for real, to copy it."""
    hand_in(house.web, [orjson.dumps(event) for event in sold_and_here(0)])
    while drain_all(house.worker):
        pass


def grow(house: House, first: int, last: int, today: date) -> None:
    """Add copies number `first` to `last`; one in 33 has its examination due next month.

    One in a hundred has its whole history, which is what is read; the others have its first four
    rows, so that a million units take minutes and not an hour. Their histories are copies whose
    digests do not verify: what is measured on them reads and folds, and never verifies.
    """
    due = str(Month.of(today).plus(1))
    engine = house.admin_engine()
    with engine.begin() as connection:
        seed = connection.execute(
            text("SELECT unit_id FROM marks WHERE subject = :mark"), {"mark": SEED}
        ).scalar_one()
        span = {"first": first, "last": last, "due": due, "later": "2031-01"}
        connection.execute(text(_UNITS), span)
        for statement in (_MARKS, _HEADS, _HISTORY):
            connection.execute(text(statement), {"seed": seed} if ":seed" in statement else {})
        connection.execute(text(_RECORDS), {"seed": seed, "examined": _EXAMINED})
    _settle(engine.connect())
    engine.dispose()


def _settle(connection: Connection) -> None:
    with connection.execution_options(isolation_level="AUTOCOMMIT"):
        connection.execute(text("VACUUM (ANALYZE) records, history, heads, marks"))
