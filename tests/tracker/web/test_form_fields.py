"""What a form's fields say as an event; the page's own reading is tried in tests/browser."""

import pytest

from tracker.web.pages.form_fields import doubtful_amounts, read_fields


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


@pytest.mark.parametrize("typed", ["3,5", "3.5", "1,200", "1 200"])
def test_only_a_mass_may_have_its_thousands_apart(typed: str) -> None:
    said = read_fields([("damages.0.measured_mm:int", typed), ("damages.0.count:int", "12")])
    assert said == {"damages": [{"measured_mm": typed, "count": 12}]}


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("30 480", 30480),
        ("30\u202f480", 30480),
        ("30.480", 30480),
        ("1'030'480", 1030480),
        ("30480", 30480),
        ("22,3", "22,3"),
        ("2230.5", "2230.5"),
        ("2,2300", "2,2300"),
        ("1.030,480", "1.030,480"),
        ("30\n480", 30480),
    ],
)
def test_thousands_are_apart_by_one_sign_and_in_threes(typed: str, read: int | str) -> None:
    assert read_fields([("masses.gross_kg:int", typed)]) == {"masses": {"gross_kg": read}}


def test_items_stand_in_the_order_of_their_numbers_and_unfilled_ones_go() -> None:
    said = read_fields(
        [
            ("!lines", "what"),
            ("lines.10.what", "ramp"),
            ("lines.2.what", "vents"),
            ("lines.3.count:int", "1"),
        ]
    )
    assert said == {"lines": [{"what": "vents"}, {"what": "ramp"}]}


def test_list_of_which_nothing_was_filled_in_is_left_out() -> None:
    assert read_fields([("!lines", "what"), ("lines.0.count:int", "1")]) == {}


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("1450", "1450"),
        ("1450.5", "1450.5"),
        ("1450,50", "1450.50"),
        ("1.450,50", "1450.50"),
        ("1,450.50", "1450.50"),
        ("1'450.50", "1450.50"),
        ("1 450,50", "1450.50"),
        ("1\u202f450,50", "1450.50"),
        ("1 450", "1450"),
        ("1450,505", "1450.505"),
        ("1.450,505", "1450.505"),
        ("0.450", "0.450"),
        ("1,234,567", "1234567"),
        ("0,45", "0.45"),
    ],
)
def test_amount_is_read_as_it_is_usually_written(typed: str, read: str) -> None:
    assert read_fields([("price:money", typed)]) == {"price": read}


@pytest.mark.parametrize(
    "typed", ["1,450,50", "1.450.50", "1.450", "1,450", "14 50", "much", "-5", "1'450'50"]
)
def test_amount_that_could_be_two_stays_as_typed_for_the_reader_to_refuse(typed: str) -> None:
    assert read_fields([("price:money", typed)]) == {"price": typed}


@pytest.mark.parametrize(
    ("typed", "in_dinars", "in_yen"),
    [
        ("450.500", "450.500", "450500"),
        ("450,500", "450.500", "450500"),
        ("1.234,500", "1234.500", "1234.500"),
        ("1,234.500", "1234.500", "1234.500"),
        ("1.234.500", "1234500", "1234500"),
        ("450500", "450500", "450500"),
        ("450.50", "450.50", "450.50"),
    ],
)
def test_amount_is_read_by_the_decimals_of_its_currency(
    typed: str, in_dinars: str, in_yen: str
) -> None:
    """What is too fine for its currency is refused by the judge, which says so."""
    for currency, read in (("BHD", in_dinars), ("JPY", in_yen)):
        assert read_fields([("price:money", typed), ("currency", currency)])["price"] == read
        assert read_fields([("price:money", typed)], currency)["price"] == read, "the house's"
        named = [("price:money", typed), ("currency", currency)]
        assert doubtful_amounts(named, "EUR") == []


@pytest.mark.parametrize("typed", ["450.500", "450,500", "1.450"])
def test_amount_that_could_be_two_is_asked_about_where_its_currency_does_not_tell(
    typed: str,
) -> None:
    whole = typed.replace(".", "").replace(",", "")
    for pairs, house in (
        ([("lines.0.price_each:money", typed)], "EUR"),
        ([("lines.0.price_each:money", typed), ("currency", "EUR")], "BHD"),
        ([("lines.0.price_each:money", typed), ("currency", "")], ""),
    ):
        (fault,) = doubtful_amounts(pairs, house)
        assert fault.field == "lines.0.price_each"
        assert f"{typed} can be read as {whole} and as " in fault.says
    assert doubtful_amounts([("price:money", "1450.50"), ("note", typed)], "EUR") == []


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("#T-12", {"tag": "T-12"}),
        ("# T-12 ", {"tag": "T-12"}),
        ("#NORTH/T-12", {"tag": "T-12"}),
        ("#SOUTH/T-12", {"tag": "SOUTH/T-12"}),
        ("#", {"mark": "#"}),
        ("T#12", {"mark": "T#12"}),
    ],
)
def test_number_that_begins_with_its_sign_is_a_tag(typed: str, said: dict[str, str]) -> None:
    assert read_fields([("mark", typed), ("depot", "NORTH")]) == {"depot": "NORTH", **said}
