import pytest

from tracker.services.accept import TooManyEventsError
from tracker.web.api.event_list import TooDeepError, UnclosedListError, is_list, split


def test_single_event_is_left_as_it_came() -> None:
    body = b' {"cube_m3": 33.200, "note": "a, b]"} \n'
    assert not is_list(body)
    assert split(body) == [b'{"cube_m3": 33.200, "note": "a, b]"}']


def test_elements_keep_their_bytes_whatever_stands_in_texts() -> None:
    body = b' [ {"note":"],[\\"{"} , {"cube_m3": 33.200, "photos":["a","b"]},1.10 ] '
    assert is_list(body)
    assert split(body) == [
        b'{"note":"],[\\"{"}',
        b'{"cube_m3": 33.200, "photos":["a","b"]}',
        b"1.10",
    ]


@pytest.mark.parametrize(
    ("body", "elements"),
    [
        (b"[]", []),
        (b"[ \n ]", []),
        (b"[{}]", [b"{}"]),
        (b"[{},]", [b"{}", b""]),
        (b"[what,{}]", [b"what", b"{}"]),
    ],
)
def test_lists_of_any_length_and_elements_that_are_no_json(
    body: bytes, elements: list[bytes]
) -> None:
    assert split(body) == elements


@pytest.mark.parametrize("body", [b"[", b"[{}", b'[{"a]', b"[{}] {}", b"[{}]]", b'["a" "'])
def test_list_without_an_end_is_refused_whole(body: bytes) -> None:
    with pytest.raises(UnclosedListError):
        split(body)


def test_list_is_read_no_deeper_than_an_event_goes() -> None:
    assert split(b"[" * 64 + b"]" * 64) == [b"[" * 63 + b"]" * 63]
    with pytest.raises(TooDeepError):
        split(b"[" * 65 + b"]" * 65)


def test_list_is_read_no_further_than_it_is_taken() -> None:
    assert len(split(b"[" + b",".join([b"{}"] * 1000) + b"]")) == 1000
    with pytest.raises(TooManyEventsError):
        split(b"[" + b",".join([b"{}"] * 1001) + b"]")
