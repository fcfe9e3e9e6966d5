import pytest

from shared import addresses
from shared.addresses import AddressError, DatabaseAddresses, Login, Role

SOCKET = "postgresql://admin@/hardstand?host=/srv/run"


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ("postgres://u:p@h:1/d", "postgresql+psycopg://u:p@h:1/d"),
        ("postgresql://u@h/d?sslmode=require", "postgresql+psycopg://u@h/d?sslmode=require"),
        ("postgresql+psycopg://u@/d?host=/run", "postgresql+psycopg://u@/d?host=/run"),
    ],
)
def test_sqlalchemy_address_names_the_driver(given: str, expected: str) -> None:
    assert addresses.sqlalchemy_address(given) == expected


def test_libpq_address_names_no_driver() -> None:
    assert (
        addresses.libpq_address("postgresql+psycopg://u@/d?host=/r") == "postgresql://u@/d?host=/r"
    )


def test_sqlalchemy_address_of_another_database_is_refused_without_its_password() -> None:
    with pytest.raises(AddressError) as caught:
        addresses.sqlalchemy_address("mysql://u:hush@h/d")
    assert "mysql://u:***@h/d" in str(caught.value)


def test_with_login_quotes_what_an_address_would_misread() -> None:
    url = addresses.with_login(SOCKET, "a@b", "p/w:d#")
    assert url == "postgresql://a%40b:p%2Fw%3Ad%23@/hardstand?host=/srv/run"
    assert addresses.read_login(url) == Login("a@b", "p/w:d#", "hardstand")


def test_with_login_replaces_the_old_one_and_keeps_host_and_port() -> None:
    url = addresses.with_login("postgresql://x:y@h:5/d", "web")
    assert url == "postgresql://web@h:5/d"


def test_at_database_changes_all_four() -> None:
    four = DatabaseAddresses(*(f"postgresql+psycopg://{role}@h/a" for role in Role))
    moved = four.at_database("b")
    assert [moved.of(role) for role in Role] == [
        f"postgresql+psycopg://{role}@h/b" for role in Role
    ]


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ("unix:///srv/r.sock?db=3", "redis+socket:///srv/r.sock?virtual_host=3"),
        ("unix:///srv/r.sock", "redis+socket:///srv/r.sock"),
        ("redis://:p@h:1/2", "redis://:p@h:1/2"),
    ],
)
def test_broker_address_is_what_celery_reads(given: str, expected: str) -> None:
    assert addresses.broker_address(given) == expected


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        ("unix:///srv/r.sock?db=0", "unix:///srv/r.sock?db=5"),
        ("unix:///srv/r.sock", "unix:///srv/r.sock?db=5"),
        ("redis://:p@h:1/0", "redis://:p@h:1/5"),
        ("redis://h", "redis://h/5"),
    ],
)
def test_with_redis_database_replaces_the_number(given: str, expected: str) -> None:
    assert addresses.with_redis_database(given, 5) == expected


def test_derive_password_differs_by_role_secret_and_administrator() -> None:
    urls = ("postgresql://admin:one@h/a", "postgresql://admin:two@h/a", "postgresql://admin@h/a")
    passwords = {
        addresses.derive_password(secret, url, role)
        for secret in ("a", "b")
        for url in urls
        for role in Role
    }
    assert len(passwords) == 2 * len(urls) * len(Role)
    # The same again elsewhere: by another database's name, or the administrator's server.
    once, again = (f"postgresql://admin:one@{rest}" for rest in ("h/a", "other:5/b"))
    assert addresses.derive_password("a", once, Role.WEB) == addresses.derive_password(
        "a", again, Role.WEB
    )


def test_repr_shows_no_password() -> None:
    four = DatabaseAddresses(*(f"postgresql://{role}:hush@h/a" for role in Role))
    assert "hush" not in repr(four)
    assert "hush" not in repr(addresses.read_login(four.web))
