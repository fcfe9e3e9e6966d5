"""What a form's fields say as an event; the page's own reading is tried in tests/browser."""

from tracker.web.pages.form_fields import read_fields


def test_names_tell_where_a_value_belongs_and_of_which_type() -> None:
    said = read_fields(
        [
            ("mark", " ZZZU3000014 "),
            ("masses.tare_kg:int", "2,230"),
            ("gas.entered:bool", "no"),
            ("photos:list", "one"),
            ("photos:list", "two"),
        ]
    )
    assert said == {
        "mark": "ZZZU3000014",
        "masses": {"tare_kg": 2230},
        "gas": {"entered": False},
        "photos": ["one", "two"],
    }


def test_what_is_left_empty_is_left_out_with_all_around_it() -> None:
    assert read_fields([("note", "  "), ("plate.gross_kg:int", ""), ("mark", "A")]) == {"mark": "A"}


def test_number_that_is_none_stays_text_for_the_reader_to_refuse() -> None:
    assert read_fields([("masses.tare_kg:int", "22x0")]) == {"masses": {"tare_kg": "22x0"}}


def test_items_stand_in_the_order_of_their_numbers_and_unfilled_ones_go() -> None:
    said = read_fields(
        [
            ("!damages", "component"),
            ("damages.10.component", "floor"),
            ("damages.2.component", "paint"),
            ("damages.3.kind", "bent"),
        ]
    )
    assert said == {"damages": [{"component": "paint"}, {"component": "floor"}]}


def test_list_of_which_nothing_was_filled_in_is_left_out() -> None:
    assert read_fields([("!damages", "component"), ("damages.0.kind", "bent")]) == {}
