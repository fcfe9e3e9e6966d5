import orjson
import pytest

from tests.support.command_line import as_lines, make_report
from tracker.cli.event_files import read_events
from tracker.services.reading import EventUnreadableError, read_event

GATE_IN = make_report("gate-in")

HEADINGS = "id,kind,depot,mark,happened_at,reported_by,masses.gross_kg,plate.no_plate"


def bodies(content: bytes, name: str = "") -> list[dict[str, object]]:
    return [orjson.loads(line.body) for line in read_events(content, name=name)]


def test_json_lines_are_handed_on_unchanged_with_their_numbers() -> None:
    content = b'\n{ "id": "x",  "kind": "gate-in" }\n\n{"id":"y"}\r\n'
    lines = list(read_events(content))
    assert [(line.number, line.body) for line in lines] == [
        (2, b'{ "id": "x",  "kind": "gate-in" }'),
        (4, b'{"id":"y"}'),
    ]


def test_broken_line_goes_on_as_it_came_and_others_follow() -> None:
    lines = list(read_events(b'{"id":"x"}\n{broken\n{"id":"z"}\n'))
    assert [line.body for line in lines] == [b'{"id":"x"}', b"{broken", b'{"id":"z"}']


def test_broken_first_line_does_not_make_it_another_form() -> None:
    assert [line.body for line in read_events(b'{broken\n{"id":"z"}\n')] == [
        b"{broken",
        b'{"id":"z"}',
    ]


def test_array_and_single_object_over_several_lines_are_read() -> None:
    assert bodies(orjson.dumps([GATE_IN, {"id": "y"}])) == [GATE_IN, {"id": "y"}]
    assert bodies(orjson.dumps(GATE_IN, option=orjson.OPT_INDENT_2)) == [GATE_IN]


def test_byte_order_mark_is_no_part_of_the_first_line() -> None:
    assert bodies(b"\xef\xbb\xbf" + as_lines(GATE_IN)) == [GATE_IN]


def test_event_without_id_gets_the_same_one_each_time_and_says_it_is_from_a_file() -> None:
    nameless = {name: value for name, value in GATE_IN.items() if name != "id"}
    turned = dict(reversed(nameless.items()))
    (first,), (second,) = bodies(as_lines(nameless)), bodies(as_lines(turned))
    assert first["id"] == second["id"]
    assert first["source"] == "file"
    (other,) = bodies(as_lines({**nameless, "mark": "ZZZU0000026"}))
    assert other["id"] != first["id"]


def test_event_with_id_is_not_touched() -> None:
    assert bodies(as_lines(GATE_IN)) == [GATE_IN]


def csv_of(*rows: str, headings: str = HEADINGS) -> bytes:
    return "\n".join([headings, *rows]).encode()


ROW = f"{GATE_IN['id']},gate-in,NORTH,ZZZU0000010,2026-03-02T07:00:00Z,Ada Quill,30480,yes"


def test_csv_cells_become_what_the_schema_asks_for() -> None:
    (line,) = read_events(csv_of(ROW))
    event = orjson.loads(line.body)
    assert event["masses"] == {"gross_kg": 30480}
    assert event["plate"] == {"no_plate": True}
    assert read_event(line.body).kind == "gate-in"


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_csv_delimiter_is_seen_in_the_headings(delimiter: str) -> None:
    content = csv_of(ROW).replace(b",", delimiter.encode())
    assert [one["reported_by"] for one in bodies(content)] == ["Ada Quill"]


def test_csv_empty_cells_are_left_out_and_empty_rows_passed_over() -> None:
    row = ROW.replace("30480", " ").replace("yes", "")
    lines = list(read_events(csv_of("", row, ",,,,,,,")))
    assert [line.number for line in lines] == [3]
    assert "masses" not in orjson.loads(lines[0].body)


def test_csv_row_over_two_lines_is_numbered_by_its_first() -> None:
    long = ROW.replace("Ada Quill", '"Ada\nQuill"')
    lines = list(read_events(csv_of(long, ROW)))
    assert [line.number for line in lines] == [2, 4]


def test_csv_list_is_written_as_json_in_its_cell() -> None:
    headings = "kind,depot,mark,happened_at,reported_by,lines"
    row = 'work-order,NORTH,ZZZU0000010,2026-03-02T07:00:00Z,Ada,"[{""work"":""lock-box""}]"'
    (line,) = read_events(csv_of(row, headings=headings))
    assert orjson.loads(line.body)["lines"] == [{"work": "lock-box"}]
    assert read_event(line.body).kind == "work-order"


def test_csv_number_that_is_none_stays_as_it_came_and_is_refused_by_name() -> None:
    (line,) = read_events(csv_of(ROW.replace("30480", "heavy")))
    assert orjson.loads(line.body)["masses"] == {"gross_kg": "heavy"}
    with pytest.raises(EventUnreadableError, match=r"masses\.gross_kg"):
        read_event(line.body)


def test_csv_suffix_makes_it_csv_whatever_the_headings() -> None:
    (line,) = read_events(b"mark,depot\nZZZU0000010,NORTH\n", name="arrivals.CSV")
    assert orjson.loads(line.body)["mark"] == "ZZZU0000010"


def test_csv_row_with_too_many_cells_or_in_another_encoding_says_so() -> None:
    long, latin = list(read_events(csv_of(ROW + ",more", ROW) + b"\nx,gate-in,N\xfcrnberg\n"))[::2]
    assert long.fault == "it has 9 cells, but there are 8 headings"
    assert latin.fault == "it is not written in UTF-8 (byte 12)"
    assert latin.body == b"x,gate-in,N\xfcrnberg"
