"""`unit`: show one unit's record and whole history, today or as of a moment."""

from __future__ import annotations

from typing import Annotated, Any, Final

import typer

from shared.addresses import Role
from tracker.cli.depot_time import DepotTime
from tracker.cli.means import services
from tracker.cli.moments import read_moment
from tracker.cli.money import price_words
from tracker.cli.output import AsJson, write_json, write_pairs, write_table
from tracker.cli.paper_files import Csv, keep_pieces
from tracker.services.spreadsheets import history_csv
from tracker.services.unit_view import UnitView, show_unit

EXAMPLES: Final = (
    "Examples:\n\nhardstand unit CSQU3054383\n\n"
    "hardstand unit CSQU3054383 --as-of 2026-03-01T12:00:00Z --json\n\n"
    "hardstand unit '#NORTH/T-12' --known-at 2026-03-02T08:00:00+01:00"
)

_SHOWN: Final = (
    ("Mark", "mark"),
    ("Tag", "tag"),
    ("Presence", "presence"),
    ("Whereabouts", "whereabouts"),
    ("Depot", "depot"),
    ("Slot", "slot"),
    ("Owner", "owner"),
    ("Size-type", "size_type"),
    ("Condition", "condition"),
    ("Provenance", "provenance"),
    ("Gross kg", "gross_kg"),
    ("Tare kg", "tare_kg"),
    ("Payload kg", "payload_kg"),
    ("Made", "manufactured_in"),
    ("Next examination", "next_examination"),
    ("Approval", "approval"),
    ("Fittings", "fittings"),
    ("To repaint", "repaint"),
    ("Turned out to be", "merged_into"),
)


def unit(
    ctx: typer.Context,
    mark: Annotated[
        str, typer.Argument(help="Any mark it ever bore, a tag #DEPOT/TAG, or its id.")
    ],
    *,
    as_of: Annotated[str | None, typer.Option(help="What was true at this moment.")] = None,
    known_at: Annotated[str | None, typer.Option(help="What we knew at this moment.")] = None,
    as_json: AsJson = False,
    as_csv: Csv = None,
) -> None:
    """Show one unit: what it is, what happened to it, and who said so. Moments are ISO 8601."""
    true = None if as_of is None else read_moment(as_of)
    known = None if known_at is None else read_moment(known_at)
    with services(ctx) as running:
        context = running.context(Role.WEB)
        view = show_unit(context, mark, as_of=true, known_at=known)
        time = DepotTime.of(context)
    if as_csv is not None:
        keep_pieces(history_csv(view), as_csv)
    elif as_json:
        write_json(
            {
                "unit_id": str(view.unit_id),
                "record": view.record,
                "history": view.history,
                "apart": view.apart,
            }
        )
    else:
        _show(view, time)


def _show(view: UnitView, time: DepotTime) -> None:
    record = view.record
    depot = record["depot"]
    write_pairs([("Unit", str(view.unit_id)), *((name, record[key]) for name, key in _SHOWN)])
    write_pairs(
        [
            *(
                ("Known by", f"{one['mark']} since {time.moment(one['since'], depot)[:10]}")
                for one in record["marks"]
            ),
            *(("Sold", _sold(one)) for one in (record["sale"],) if one),
            *(("Question", time.told(one["asks"], depot)) for one in record["questions"]),
            *(("Breach", time.told(one["says"], depot)) for one in record["breaches"]),
            *(("To weigh", "its shell was cut") for _ in (1,) if record.get("to_weigh")),
            *(("Claim", _claim(one)) for one in record["claims"]),
            *(("Labels on it", one) for one in (record["placards"],) if one),
            *(("Hold", f"{one['hold']}: {one['reason']}") for one in record["holds"]),
            *(("Alert", time.told(one["says"], depot)) for one in record["alerts"]),
        ]
    )
    typer.echo()
    write_table(
        ("Row", "Happened", "What", "Told by", "Found"),
        [
            (
                row["seq"],
                time.moment(row["effective_at"], row["depot"]),
                row["kind"],
                row["reported_by"],
                _found(row, time),
            )
            for row in view.history
        ],
        none="No history.",
    )
    time.write_zones()
    if view.apart:
        typer.echo("\nNot yet in its history:")
        rows = [(one["kind"], one["state"], one["id"], one["error"]) for one in view.apart]
        write_table(("What", "State", "Event", "Because"), rows, none="")


def _sold(sale: dict[str, Any]) -> str:
    paid = "paid" if sale["paid"] else "on credit" if sale["on_credit"] else "not paid"
    return f"to {sale['buyer']} for {sale['intended_use']}, {paid}{price_words(sale)}"


def _claim(claim: dict[str, Any]) -> str:
    whom = claim["responsible"] or "nobody named"
    given = claim["notice_given_on"]
    notice = f"notice given on {given}" if given else f"notice by {claim['notice_by']}"
    return f"{claim['says']}, against {whom}, {notice} (id {claim['id']})"


def _found(row: dict[str, Any], time: DepotTime) -> str:
    told = [
        f"{found['severity']}: {time.told(found['message'], row['depot'])}"
        for found in row["findings"]
    ]
    if row["brought_by"]:
        told.append(f"Brought here by event {row['brought_by']}.")
    if row["replaced_by"]:
        told.append(f"Stands no more as told, by event {row['replaced_by']}.")
    return " ".join(told)
