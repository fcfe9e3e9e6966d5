"""What each role may do to each table, all of it: a table or grant that does not stand here fails.

S is SELECT, I INSERT, U UPDATE, D DELETE; columns in brackets where not the whole table is meant.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from shared.addresses import Role

if TYPE_CHECKING:
    from tests.support.depot import Depot


class May(NamedTuple):
    """What the three roles of processes may do to one table."""

    web: str = ""
    worker: str = ""
    reader: str = ""


_TOLD = May("S", "DISU", "S")
TABLE = {
    "account_roles": May("DISU"),
    "account_subjects": May("DIS"),
    "accounts": May("DISU"),
    "alembic_version": May(),
    "alert_answers": May("DISU", "DS", "S"),
    "alerts": _TOLD,
    "contacts": May("DISU", "S"),
    "depots": May("DISU", "S", "S"),
    "duties": May("DIS", "S"),
    "folded": May("S", "SU", "S"),
    "heads": _TOLD,
    "history": May("S", "IS", "S"),
    "intake": May("IS", "DISU", "S(digest event_id lane position received_at state subject)"),
    "lane_attempts": May(worker="DISU"),
    "machine_keys": May("DIS"),
    "marks": _TOLD,
    "moves": May("S", "IS", "S"),
    "orders": _TOLD,
    "outbox": _TOLD,
    "personal_values": May("S", "IS"),
    "photo_senders": May("IS"),
    "photo_uses": May("S", "IS", "S"),
    "photos": May("IS", "S", "S"),
    "questions": _TOLD,
    "receipts": May("S", "DIS", "S"),
    "records": _TOLD,
    "roots": May("S", "ISU", "S"),
    "rounds": May("S", "ISU", "S"),
    "sessions": May("DISU"),
    "sign_in_attempts": May("DIS"),
    "stock_checks": May("ISU", "S U(told_on)", "S"),
    "unreadable": May("IS", "S", "S(id received_at)"),
    "work_items": May("ISU", "S", "S"),
}
PROCESSES = (Role.WEB, Role.WORKER, Role.READER)

# TRUNCATE, REFERENCES and TRIGGER have letters of their own, so that no grant goes unseen.
WHOLE = """
    SELECT t.table_name, coalesce(string_agg(
        CASE privilege_type WHEN 'TRUNCATE' THEN 'T' WHEN 'REFERENCES' THEN 'R'
            WHEN 'TRIGGER' THEN 'G' ELSE left(privilege_type, 1) END, ''
        ORDER BY left(privilege_type, 1)), '') AS may
    FROM information_schema.tables AS t
    LEFT JOIN information_schema.table_privileges AS p
        ON p.table_name = t.table_name AND p.table_schema = t.table_schema
        AND p.grantee IN (:role, 'PUBLIC')
    WHERE t.table_schema = 'public' GROUP BY t.table_name
"""
PARTS = """
    SELECT table_name, left(privilege_type, 1) || '('
        || string_agg(column_name, ' ' ORDER BY column_name) || ')' AS may
    FROM information_schema.column_privileges AS c
    WHERE table_schema = 'public' AND grantee IN (:role, 'PUBLIC') AND NOT EXISTS (
        SELECT FROM information_schema.table_privileges AS p
        WHERE p.table_schema = c.table_schema AND p.table_name = c.table_name
            AND p.grantee = c.grantee AND p.privilege_type = c.privilege_type)
    GROUP BY table_name, privilege_type ORDER BY table_name, privilege_type
"""


def granted(depot: Depot, role: Role) -> dict[str, str]:
    """Return what a role may do to every table there is, written as in the table above."""
    found = {row["table_name"]: [row["may"]] for row in depot.rows(WHOLE, role=role.value)}
    for row in depot.rows(PARTS, role=role.value):
        found[row["table_name"]].append(row["may"])
    return {table: " ".join(filter(None, parts)) for table, parts in found.items()}


def test_every_role_may_do_to_every_table_what_stands_here_and_no_more(depot: Depot) -> None:
    for role, place in zip(PROCESSES, range(3), strict=True):
        assert granted(depot, role) == {table: may[place] for table, may in TABLE.items()}, role


def test_grant_of_any_kind_is_seen(depot: Depot) -> None:
    depot.change("CREATE TABLE added (one integer, two integer)")
    assert granted(depot, Role.WEB)["added"] == ""
    depot.change("GRANT TRUNCATE, REFERENCES, TRIGGER ON added TO hardstand_web")
    depot.change("GRANT UPDATE (two) ON added TO PUBLIC")
    seen = granted(depot, Role.WEB)["added"]
    assert sorted(seen.split()[0]) == ["G", "R", "T"]
    assert seen.endswith(" U(two)")


def test_no_process_may_make_tables_or_be_somebody_else(depot: Depot) -> None:
    for role in PROCESSES:
        assert not depot.one("SELECT has_schema_privilege(:role, 'public', 'CREATE')", role=role)
        (is_,) = depot.rows("SELECT * FROM pg_roles WHERE rolname = :role", role=role.value)
        powers = ("rolsuper", "rolcreaterole", "rolcreatedb", "rolreplication", "rolbypassrls")
        assert [power for power in powers if is_[power]] == []
        others = [other.value for other in Role if other is not role]
        member = "SELECT pg_has_role(:role, :other, 'MEMBER')"
        assert [o for o in others if depot.one(member, other=o, role=role.value)] == []
