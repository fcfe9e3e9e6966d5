"""Every form of every page, sent with the right names and hostile values.

The forms are those that the pages render, found by walking from page to page; every route that
takes one is reached, or a test fails. No answer is a 5xx, whoever sends something wrong is told
what, and what was taken is judged.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from random import Random
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode, urlsplit

import pytest
from fastapi.routing import APIRoute

from deploy.fuzz import WORST
from shared.ids import new_id
from tests.support import described
from tests.support.busy import make_busy
from tests.support.depot import open_up
from tests.support.draining import draining
from tests.support.pictures import make_photo, make_scene
from tests.support.rendered import Form, forms_of
from tests.support.web import Site, open_site
from tracker.services.actor import Role
from tracker.services.rebuild import rebuild
from tracker.services.verify import verify
from tracker.web.app import ROUTERS
from tracker.web.csrf import FIELD

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.testclient import TestClient

    from shared.clock import StandingClock
    from shared.settings import Settings

pytestmark = pytest.mark.timeout(120 + 30 * described.EXAMPLES)

ROLES = tuple(f"{depot}:{role}" for depot in ("NORTH", "SOUTH") for role in Role)
# Tried where passwords and the session are: tests/tracker/web/test_sign_in.py.
OF_THE_DOOR = {"/sign-in", "/sign-out"}
PAGES = (
    *("/", "/alerts", "/batches", "/batches/announce", "/catalogue", "/claims", "/gate"),
    *("/gate/departure", "/holds", "/orders", "/people", "/questions", "/reports", "/sales"),
    *("/sales/deal", "/stock", "/walk", "/workshop", "/workshop/unit", "/workshop/inspection"),
)
MOST_PAGES = 140
MOST_OF_A_SORT = 6
"""A unit's page for each unit of the depot, and no more pages that differ by a name only."""
_LINK = re.compile(r'href="(/[^"#]*)"')
_TELLS = re.compile(
    r'role="alert"[^>]*>\s*\S|urn:uuid:|<h1>There is nothing to correct here'
    r"|<h1>This question is not open"
)
_NAME = re.compile(r"[0-9a-f]{8}-[0-9a-f-]{27}|[A-Z]{4}[0-9]{7}|=[^&]*")


@pytest.fixture
def site(settings: Settings, clock: StandingClock) -> Iterator[Site]:
    with open_up(settings, clock) as depot, open_site(depot) as site:
        yield site


def all_forms(client: TestClient, marks: list[str]) -> dict[tuple[str, ...], Form]:
    """Walk from page to page; return one form of each sort: where it goes and what it asks."""
    ahead = [*PAGES, *(f"/units/{mark}" for mark in marks)]
    seen: set[str] = set()
    sorts: Counter[str] = Counter()
    found: dict[tuple[str, ...], Form] = {}
    while ahead and len(seen) < MOST_PAGES:
        page = ahead.pop(0)
        sort = _NAME.sub("*", page)
        if page in seen or sorts[sort] == MOST_OF_A_SORT:
            continue
        seen.add(page)
        sorts[sort] += 1
        answer = client.get(page, headers={"Accept": "text/html"})
        assert answer.status_code < 500, page
        if answer.headers.get("content-type", "").startswith("text/html"):
            ahead += _LINK.findall(answer.text.replace("&amp;", "&"))
            for form in forms_of(answer.text):
                form.action = form.action or page
                names = sorted({name for name, _ in form.fields} | set(form.choices))
                if form.method == "post" and route_of(form.action) is not None:
                    found.setdefault((str(route_of(form.action)), *names), form)
    return found


def post_routes() -> list[APIRoute]:
    return [
        route
        for router in ROUTERS
        for route in router.routes
        if isinstance(route, APIRoute)
        and "POST" in route.methods
        and not route.path.startswith("/api/")
        and route.path not in OF_THE_DOOR
    ]


def route_of(action: str) -> str | None:
    """Return the path of the route that a form goes to; None for one that is not tried here."""
    path = urlsplit(action).path
    return next((one.path for one in post_routes() if one.path_regex.fullmatch(path)), None)


def as_new(fields: list[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Give fields as the same form sends them that was opened once more, by another person."""
    for name, value in fields:
        # The session's token comes as a header, the form's own number makes the event's.
        if name != FIELD:
            yield (name, str(new_id())) if name == "form" else (name, value)


def spoilt(random: Random, form: Form) -> list[tuple[str, str]]:
    """Return what a form sends with some of its values made hostile, left out, or said twice."""
    sent: list[tuple[str, str]] = []
    # What is chosen from, and was not, may be sent as well.
    for name, value in dict([*((name, "") for name in form.choices), *form.fields]).items():
        offered = random.choice([*form.choices.get(name, ()), value])
        worst = random.choice(WORST)
        match random.randrange(10):
            case 0:
                sent.append((name, worst))
            case 1:
                sent.append((name, value + worst))
            case 2:
                sent += [(name, offered), (name, worst)]
            case 3:
                pass
            case 4:
                sent.append((name + random.choice((".0", ":int", "[]", ".a.b", "\x00")), worst))
            case _:
                sent.append((name, offered))
    return sent


def send(client: TestClient, form: Form, fields: list[tuple[str, str]], file: bytes) -> Any:  # noqa: ANN401 - httpx's answer
    """Send a form as a browser does that has picked the same file everywhere."""
    if not form.files or not file:
        content = urlencode(fields, errors="surrogatepass").encode()
        kind = "application/x-www-form-urlencoded"
    else:
        content, kind = multipart(fields, form.files, file), "multipart/form-data; boundary=7a7a"
    headers = {"Accept": "text/html", "Content-Type": kind}
    return client.post(form.action, content=content, headers=headers)


def multipart(fields: list[tuple[str, str]], names: list[str], file: bytes) -> bytes:
    """Return a body of parts; names as they are, whatever they hold."""
    parts = [
        f'Content-Disposition: form-data; name="{name}"\r\n\r\n{value}'.encode(
            "utf-8", "surrogatepass"
        )
        for name, value in fields
    ]
    parts += [
        f'Content-Disposition: form-data; name="{name}"; filename="\u202egpj.exe"\r\n'
        "Content-Type: image/jpeg\r\n\r\n".encode()
        + file
        for name in names
    ]
    return b"".join(b"--7a7a\r\n" + part + b"\r\n" for part in parts) + b"--7a7a--\r\n"


def tells(answer: Any) -> bool:  # noqa: ANN401 - httpx's answer
    """Say whether an answer tells what was wrong: on the page, or as a page of its own."""
    return _TELLS.search(answer.text) is not None


def test_every_form_is_answered_in_words_whatever_stands_in_it(site: Site) -> None:
    marks = [str(mark) for mark in make_busy(site)["mark"]]
    random = Random(20260302)  # noqa: S311 - to be had again, not to keep secret
    answers: dict[str, Counter[int]] = {}
    wrong: list[str] = []
    files = (b"", make_photo(make_scene(64, 48)), make_photo(make_scene(64, 48))[:400], b"GIF89a")
    with draining(site):
        forms = all_forms(site.person(*ROLES, name="walker"), marks)
        for number in range(described.EXAMPLES):
            # Each round by somebody else: a form may end the session of whoever sends it.
            client = site.person(*ROLES, name=f"walker-{number}")
            for (route, *_), form in forms.items():
                fields = [*as_new(form.fields)]
                fields = spoilt(random, replace(form, fields=fields)) if number else fields
                answer = send(client, form, fields, files[number % len(files)])
                answers.setdefault(route, Counter())[answer.status_code] += 1
                if answer.status_code >= 500 or (answer.status_code >= 400 and not tells(answer)):
                    wrong.append(f"{form.action}: {answer.status_code}: {fields!r}"[:1500])
    assert wrong == []
    assert {one.path for one in post_routes()} - set(answers) == set()
    # Not all ends at the door: the better part of the routes took what they were sent.
    assert sum(303 in seen or 200 in seen for seen in answers.values()) > len(answers) / 2
    site.depot.drain_all()
    assert site.depot.one("SELECT count(*) FROM intake") == 0
    assert set(site.depot.outcomes().values()) <= {"recorded", "refused"}
    assert verify(site.depot.worker).flaws == ()
    assert rebuild(site.depot.worker, check_only=True).differing == []
