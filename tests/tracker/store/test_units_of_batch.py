"""Which units a batch was ever said of: by pre-advice, by gate, by correction, by a move."""

from sqlalchemy import text

from tests.support.depot import BOX, OTHER, THIRD, Depot, id_of, report
from tracker.store import deliveries, statements


def units_of(depot: Depot, batch: str) -> set[str]:
    with depot.web.engine.begin() as connection:
        return {str(unit_id) for unit_id in deliveries.units_of_batch(connection, batch)}


def ids(depot: Depot, *marks: str) -> set[str]:
    return {str(depot.unit_id(mark)) for mark in marks}


def test_units_are_found_that_were_announced_or_came_with_the_batch(depot: Depot) -> None:
    depot.record(
        report("pre-advice", batch="B-1"),
        report("gate-in", OTHER, batch="B-1"),
        report("gate-in", THIRD, batch="B-2"),
    )
    assert units_of(depot, "B-1") == ids(depot, BOX, OTHER)
    assert units_of(depot, "B-2") == ids(depot, THIRD)
    assert units_of(depot, "B-3") == set()


def test_unit_is_found_by_the_batch_that_a_correction_gives(depot: Depot) -> None:
    came = report("gate-in", batch="B-2")
    depot.record(came)
    depot.record(report("correction", None, corrects=id_of(came), changes={"batch": "B-1"}))
    assert units_of(depot, "B-1") == ids(depot, BOX)


def test_unit_is_found_that_the_report_was_given_to(depot: Depot) -> None:
    came = report("gate-in", batch="B-1")
    depot.record(came)
    depot.record(report("correction", None, corrects=id_of(came), changes={"mark": OTHER}))
    assert units_of(depot, "B-1") >= ids(depot, OTHER)


def test_index_is_fit_for_the_statement(depot: Depot) -> None:
    with depot.owner.begin() as connection:
        # With so few rows reading all is cheaper: what is asked is whether the index serves.
        connection.execute(text("SET LOCAL enable_seqscan = off"))
        plan = connection.exec_driver_sql(
            "EXPLAIN " + statements.sql("units_of_batch"), {"batch": "B-1"}
        )
        assert "ix_history_batch" in "\n".join(plan.scalars())
