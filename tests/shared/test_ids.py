from uuid import UUID

from shared.ids import new_id


def test_new_id_is_a_standard_uuid_of_version_7() -> None:
    made = new_id()
    assert type(made) is UUID
    assert made.version == 7


def test_new_id_many_times_sorts_as_made() -> None:
    made = [new_id() for _ in range(5_000)]
    assert made == sorted(made)
    assert len(set(made)) == len(made)
