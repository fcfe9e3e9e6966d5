"""The people's page: a manager makes, changes and closes accounts within their own depots."""

from __future__ import annotations

from tests.support.web import PASSWORD, Site, sign_in
from tracker.services import accounts


def roles_of(site: Site, name: str) -> set[str]:
    (found,) = (one for one in accounts.list_accounts(site.depot.web) if one.name == name)
    return {f"{grant.depot}:{grant.role}" for grant in found.grants}


def test_account_is_made_and_signs_in(site: Site) -> None:
    said = {"name": "new.one", "shown_as": "New One", "password": PASSWORD, "grant": "NORTH:gate"}
    manager = site.person("NORTH:manager")
    made = manager.post("/people/add", data=said)
    assert made.status_code == 303
    assert "The account is made" in manager.get(made.headers["location"]).text
    assert roles_of(site, "new.one") == {"NORTH:gate"}
    assert sign_in(site.client(), "new.one").status_code == 303


def test_short_password_is_refused_beside_the_form_with_what_was_typed(site: Site) -> None:
    said = {"name": "new.one", "shown_as": "New One", "password": "short", "grant": "NORTH:gate"}
    answer = site.person("NORTH:manager").post("/people/add", data=said)
    assert answer.status_code == 422
    assert 'value="new.one"' in answer.text
    assert [one.name for one in accounts.list_accounts(site.depot.web)] == ["ada"]


def test_manager_gives_no_role_beyond_their_depot(site: Site) -> None:
    manager = site.person("NORTH:manager")
    site.add_person("bob", "NORTH:gate")
    for grant in ("SOUTH:gate", "*:manager"):
        answer = manager.post("/people/roles", data={"name": "bob", "grant": grant})
        assert answer.status_code == 403
    assert roles_of(site, "bob") == {"NORTH:gate"}


def test_manager_touches_nobody_whose_roles_reach_further(site: Site) -> None:
    manager = site.person("NORTH:manager")
    site.add_person("bob", "NORTH:gate", "SOUTH:gate")
    for form, said in (
        ("roles", {}),
        ("password", {"password": PASSWORD}),
        ("end-sessions", {}),
        ("close", {}),
    ):
        answer = manager.post(f"/people/{form}", data={"name": "bob", **said})
        assert answer.status_code == 403
    assert roles_of(site, "bob") == {"NORTH:gate", "SOUTH:gate"}


def test_manager_neither_sees_nor_changes_people_of_another_depot(site: Site) -> None:
    manager = site.person("NORTH:manager")
    site.add_person("bob", "SOUTH:gate", shown_as="Bob Southern")
    assert "Bob Southern" not in manager.get("/people").text
    assert manager.post("/people/close", data={"name": "bob"}).status_code == 422
    assert roles_of(site, "bob") == {"SOUTH:gate"}


def test_nobody_closes_themselves(site: Site) -> None:
    manager = site.person("*:manager")
    assert manager.post("/people/close", data={"name": "ada"}).status_code == 403
    assert roles_of(site, "ada") == {"*:manager"}


def test_closed_account_is_signed_out_and_reaches_nothing(site: Site) -> None:
    bob = site.person("NORTH:gate", name="bob")
    assert bob.get("/stock").status_code == 200
    assert (
        site.person("NORTH:manager").post("/people/close", data={"name": "bob"}).status_code == 303
    )
    assert bob.get("/api/stock").status_code == 401
    assert roles_of(site, "bob") == set()


def test_new_password_ends_the_sessions_of_before(site: Site) -> None:
    bob = site.person("NORTH:gate", name="bob")
    said = {"name": "bob", "password": "another kettle on the ninth step"}
    assert site.person("NORTH:manager").post("/people/password", data=said).status_code == 303
    assert bob.get("/api/stock").status_code == 401
    assert sign_in(site.client(), "bob").status_code == 401
    assert sign_in(site.client(), "bob", said["password"]).status_code == 303


def test_somebody_is_put_on_duty_and_off_again_by_their_manager(site: Site) -> None:
    manager = site.person("NORTH:manager", shown_as="Mia Quay")
    said = {"depot": "NORTH", "address": "tom@north.example", "name": "Tom Reed"}
    done = manager.post("/people/on-duty", data=said)
    page = manager.get(done.headers["location"]).text
    assert "They are on duty" in page
    for words in ("Tom Reed tom@north.example", "2 Mar 2026, 08:00", "put on duty by Mia Quay"):
        assert words in page
    manager.post("/people/off-duty", data=said)
    assert "Nobody is on duty" in manager.get("/people").text


def test_nobody_is_put_on_duty_at_a_depot_of_others_or_without_an_address(site: Site) -> None:
    manager = site.person("NORTH:manager")
    for depot, address, status in (
        ("SOUTH", "tom@south.example", 403),
        ("*", "tom@south.example", 403),
        ("NORTH", "tom", 422),
    ):
        answer = manager.post("/people/on-duty", data={"depot": depot, "address": address})
        assert answer.status_code == status
        assert f'value="{address}"' in answer.text
    assert site.depot.rows("SELECT 1 FROM duties") == []
