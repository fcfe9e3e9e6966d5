"""Every route by every role, by machines and by nobody. A new route fails until it stands here."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

import pytest
from fastapi import APIRouter
from fastapi.routing import APIRoute

from tests.support.web import Site
from tracker.services.actor import Role, Scope
from tracker.web.access import Access, access_of
from tracker.web.app import ROUTERS, create_app

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.depot import Depot

EVERYBODY = {"nobody", *Role, *Scope}
ALL_ROLES = set(Role)
DESK = {Role.SALES, Role.MANAGER}

GATE = {Role.GATE, Role.MANAGER}
WORKSHOP = {Role.WORKSHOP, Role.MANAGER}

TABLE: dict[tuple[str, str], set[str]] = {
    ("GET", "/"): ALL_ROLES,
    ("GET", "/alerts"): ALL_ROLES,
    ("GET", "/claims"): DESK,
    ("POST", "/claims"): DESK,
    ("POST", "/alerts/answer"): ALL_ROLES,
    ("GET", "/batches"): ALL_ROLES,
    ("GET", "/batches/announce"): DESK,
    ("POST", "/batches/announce"): DESK,
    ("GET", "/capture/marks.json"): ALL_ROLES,
    ("GET", "/catalogue"): {Role.MANAGER},
    ("POST", "/catalogue"): {Role.MANAGER},
    ("POST", "/catalogue/remove"): {Role.MANAGER},
    ("GET", "/corrections/{event_id}"): ALL_ROLES,
    ("POST", "/corrections/{event_id}"): ALL_ROLES,
    ("GET", "/gate"): GATE,
    ("POST", "/gate/arrival"): GATE,
    ("GET", "/gate/departure"): GATE,
    ("POST", "/gate/departure"): GATE,
    ("GET", "/holds"): ALL_ROLES,
    ("POST", "/holds"): ALL_ROLES,
    ("GET", "/live"): ALL_ROLES,
    ("GET", "/orders"): DESK,
    ("POST", "/orders"): DESK,
    ("GET", "/orders/{order_id}"): DESK,
    ("POST", "/orders/{order_id}"): DESK,
    ("GET", "/people"): {Role.MANAGER},
    ("POST", "/people/add"): {Role.MANAGER},
    ("POST", "/people/close"): {Role.MANAGER},
    ("POST", "/people/end-sessions"): {Role.MANAGER},
    ("POST", "/people/off-duty"): {Role.MANAGER},
    ("POST", "/people/on-duty"): {Role.MANAGER},
    ("POST", "/people/password"): {Role.MANAGER},
    ("POST", "/people/roles"): {Role.MANAGER},
    ("GET", "/questions"): ALL_ROLES,
    ("GET", "/questions/{question_id}"): ALL_ROLES,
    ("POST", "/questions/{question_id}"): ALL_ROLES,
    ("GET", "/reports"): DESK | WORKSHOP,
    ("POST", "/reports"): DESK | WORKSHOP,
    ("GET", "/sales"): DESK,
    ("GET", "/sales/compare"): DESK,
    ("GET", "/sales/deal"): DESK,
    ("POST", "/sales/deal"): DESK,
    ("GET", "/stock"): ALL_ROLES,
    ("GET", "/stock.csv"): ALL_ROLES,
    ("GET", "/stock/glance"): ALL_ROLES,
    ("GET", "/units/{mark:path}"): ALL_ROLES,
    ("GET", "/walk"): WORKSHOP | GATE,
    ("POST", "/walk"): WORKSHOP | GATE,
    ("POST", "/walk/check"): WORKSHOP | GATE,
    ("GET", "/work-orders"): DESK | WORKSHOP,
    ("POST", "/work-orders"): DESK | WORKSHOP,
    ("GET", "/workshop"): WORKSHOP,
    ("GET", "/workshop/unit"): WORKSHOP,
    ("POST", "/workshop/unit"): WORKSHOP,
    ("GET", "/workshop/inspection"): WORKSHOP | GATE,
    ("POST", "/workshop/inspection"): WORKSHOP | GATE,
    ("GET", "/api/alerts"): ALL_ROLES | {Scope.READ},
    ("POST", "/api/alerts/acknowledge"): ALL_ROLES,
    ("POST", "/api/alerts/put-off"): ALL_ROLES,
    ("GET", "/api/catalogue"): ALL_ROLES | {Scope.READ},
    ("PUT", "/api/catalogue/{work}"): {Role.MANAGER},
    ("DELETE", "/api/catalogue/{work}"): {Role.MANAGER},
    ("GET", "/api/check"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/deliveries/{batch:path}"): ALL_ROLES | {Scope.READ},
    ("POST", "/api/events"): ALL_ROLES | {Scope.REPORT},
    ("GET", "/api/events/{event_id}"): ALL_ROLES | {Scope.REPORT},
    ("GET", "/api/events/{event_id}/interchange.pdf"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/me"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/openapi.json"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/orders"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/orders/{order_id}"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/orders/{order_id}/collection/{note_id}.pdf"): ALL_ROLES | {Scope.READ},
    ("POST", "/api/photos"): ALL_ROLES | {Scope.REPORT},
    ("GET", "/api/photos/{digest}"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/questions"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/stock"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/stock-checks"): ALL_ROLES | {Scope.READ},
    ("POST", "/api/stock-checks"): ALL_ROLES,
    ("GET", "/api/stock-checks/{check_id}"): ALL_ROLES | {Scope.READ},
    ("POST", "/api/stock-checks/{check_id}/finish"): ALL_ROLES,
    ("GET", "/api/units/{mark:path}"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/units/{mark:path}/acknowledgement.pdf"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/units/{mark:path}/history.csv"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/units/{mark:path}/may-leave"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/units/{mark:path}/pack.json"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/units/{mark:path}/pack.pdf"): ALL_ROLES | {Scope.READ},
    ("GET", "/api/units/{mark:path}/release.pdf"): ALL_ROLES | {Scope.READ},
    ("GET", "/health"): EVERYBODY,
    ("GET", "/metrics"): {Role.MANAGER, Scope.READ},
    ("GET", "/ready"): EVERYBODY,
    ("GET", "/service-worker.js"): EVERYBODY,
    ("GET", "/sign-in"): EVERYBODY,
    ("POST", "/sign-in"): EVERYBODY,
    ("GET", "/sign-in/openid"): EVERYBODY,
    ("GET", "/sign-in/openid/answer"): EVERYBODY,
    ("POST", "/sign-out"): EVERYBODY,
}
"""Who may use each route. Signing in, `health` and scripts are all that is open to everybody."""

FILLED = {
    "{question_id}": str(uuid.uuid5(uuid.NAMESPACE_URL, "a question")),
    "{event_id}": str(uuid.uuid5(uuid.NAMESPACE_URL, "an event")),
    "{mark:path}": "ZZZU3000013",
    "{batch:path}": "B-7",
    "{digest}": "0" * 64,
    "{work}": "lock-box",
    "{order_id}": str(uuid.uuid5(uuid.NAMESPACE_URL, "an order")),
    "{note_id}": str(uuid.uuid5(uuid.NAMESPACE_URL, "a note")),
    "{check_id}": "NORTH-1",
}


def routes() -> dict[tuple[str, str], APIRoute]:
    listed = [route for router in ROUTERS for route in router.routes]
    assert all(isinstance(route, APIRoute) for route in listed)
    return {
        (method, route.path): route
        for route in listed
        if isinstance(route, APIRoute)
        for method in route.methods
    }


def as_who(site: Site, who: str) -> TestClient:
    if who == "nobody":
        return site.client()
    if who in list(Role):
        return site.person(f"NORTH:{who}")
    return site.machine(Scope(who))


def test_every_route_stands_in_the_table() -> None:
    assert set(routes()) == set(TABLE)


def test_application_has_no_routes_besides_those_of_its_routers(yard: Depot) -> None:
    paths = [getattr(route, "path", None) for route in create_app(yard.web).routes]
    assert [path for path in paths if path is not None] == ["/static"]


@pytest.mark.parametrize("who", sorted(EVERYBODY))
def test_each_route_lets_in_whom_the_table_says(site: Site, who: str) -> None:
    client = as_who(site, who)
    wrong = {}
    # Signing out comes last: it ends what the others need.
    for method, path in sorted(TABLE, key=lambda route: route[1] == "/sign-out"):
        body = b"[]" if method == "POST" else None
        status = client.request(method, filled(path), content=body).status_code
        says = {401: False, 403: False}.get(status, True) or path == "/sign-in"
        if says != (who in TABLE[method, path]):
            wrong[method, path] = status
    assert wrong == {}


METHODS = ("GET", "HEAD", "OPTIONS", "POST", "PUT", "PATCH", "DELETE", "TRACE")


def filled(path: str) -> str:
    for name, value in FILLED.items():
        path = path.replace(name, value)
    return path


def test_no_path_answers_to_a_method_that_does_not_stand_in_the_table(site: Site) -> None:
    everything = site.person(*(f"*:{role}" for role in Role))
    answered = {
        (method, path): answer.status_code
        for path in sorted({path for _, path in TABLE})
        for method in METHODS
        if (method, path) not in TABLE
        and (answer := everything.request(method, filled(path))).status_code != 405
    }
    assert answered == {}


def test_slash_at_the_end_leads_nobody_anywhere(site: Site) -> None:
    nobody = site.client(Accept="application/json", Host="elsewhere.example")
    answers = {
        (method, path): nobody.request(method, filled(path) + "/") for method, path in sorted(TABLE)
    }
    told = {
        route: answer.status_code
        for route, answer in answers.items()
        if answer.status_code not in (401, 404, 405) or "location" in answer.headers
    }
    assert told == {}


def test_route_that_says_nothing_lets_nobody_in(yard: Depot) -> None:
    router = APIRouter()

    @router.get("/api/forgotten")
    def get_forgotten() -> str:
        return "told"

    app = create_app(yard.web)
    app.include_router(router)
    site = Site(yard, app)
    answers = {
        who: as_who(site, who).get("/api/forgotten").status_code for who in ("nobody", "manager")
    }
    assert answers == {"nobody": 401, "manager": 403}
    assert access_of(get_forgotten) == Access()


def test_person_without_any_role_reaches_nothing(site: Site) -> None:
    site.add_person("idle")
    client = site.client()
    client.post("/sign-in", data={"name": "idle", "password": "grey kettle on the seventh step"})
    assert client.cookies.get("hardstand_session")
    statuses = {
        path: client.get(path).status_code for path in ("/", "/api/stock", "/api/me", "/health")
    }
    assert statuses == {"/": 403, "/api/stock": 403, "/api/me": 403, "/health": 200}
