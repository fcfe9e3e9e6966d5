"""Photos over the API: as they are, in a form, and back in three sizes."""

from __future__ import annotations

import hashlib
import io
import shutil
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from tests.support.depot import report
from tests.support.pictures import make_exif, make_photo, make_scene
from tests.support.web import Site, open_site
from tracker.services.actor import Scope
from tracker.services.forget import forget

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from tests.support.depot import Depot

PHOTO = make_photo(make_scene(1600, 1200), exif=make_exif())
PNG = make_photo(make_scene(320, 240), "PNG")


@pytest.fixture
def ada(site: Site) -> TestClient:
    return site.person("NORTH:gate")


def send(client: TestClient, data: bytes = PHOTO, kind: str = "image/jpeg"):  # noqa: ANN201 - httpx's answer
    return client.post("/api/photos", content=data, headers={"Content-Type": kind})


def test_photo_is_kept_and_answered_at_once(ada: TestClient) -> None:
    answer = send(ada)
    assert answer.status_code == 201
    told = answer.json()
    digest = told.pop("digest")
    assert told == {
        "media_type": "image/jpeg",
        "width": 1600,
        "height": 1200,
        "taken_at": "2026-03-02T07:15:00+01:00",
        "too_dark": False,
        "too_blurred": False,
        "says": [],
    }
    original = ada.get(f"/api/photos/{digest}")
    assert hashlib.sha256(original.content).hexdigest() == digest
    assert Image.open(io.BytesIO(original.content)).getexif().get_ifd(0x8825) == {}


def test_photo_that_cannot_be_read_is_told_with_its_receipt(ada: TestClient) -> None:
    told = send(ada, make_photo(Image.new("RGB", (800, 600), "black"))).json()
    assert told["too_dark"] is True
    assert told["says"] == ["Too dark to read. Take it again with light on it."]


@pytest.mark.parametrize(("size", "width"), [("small", 320), ("large", 1280), ("original", 1600)])
def test_photo_is_given_in_three_sizes(ada: TestClient, size: str, width: int) -> None:
    digest = send(ada).json()["digest"]
    answer = ada.get(f"/api/photos/{digest}", params={"size": size})
    assert answer.headers["content-type"] == "image/jpeg"
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["cache-control"] == "private, no-cache"
    assert Image.open(io.BytesIO(answer.content)).width == width


def test_browser_that_has_a_photo_is_told_that_it_stands_or_was_erased(
    site: Site, ada: TestClient
) -> None:
    digest = send(ada).json()["digest"]
    first = ada.get(f"/api/photos/{digest}", params={"size": "small"})
    known = {"If-None-Match": f'W/"other", {first.headers["etag"]}'}

    def again(client: TestClient, size: str = "small") -> int:
        asked = client.get(f"/api/photos/{digest}", params={"size": size}, headers=known)
        assert asked.content == b"" or asked.status_code != 304
        return int(asked.status_code)

    shutil.rmtree(site.depot.web.settings.home / "photos")  # no file is read for it
    assert again(ada) == 304
    assert again(site.person("SOUTH:gate", name="bea")) == 404
    assert again(ada, "original") != 304
    owner = replace(site.depot.web, engine=site.depot.owner)
    forget(owner, digest)
    assert again(ada) == 410


def test_photo_comes_back_as_what_it_is_whatever_the_sender_called_it(ada: TestClient) -> None:
    digest = send(ada, make_photo(make_scene(320, 240), "PNG"), "text/html").json()["digest"]
    assert ada.get(f"/api/photos/{digest}").headers["content-type"] == "image/png"


def test_photo_in_a_form_is_the_same_photo(ada: TestClient) -> None:
    plain = send(ada).json()
    answer = ada.post("/api/photos", files={"photo": ("../../plate.jpg", PHOTO, "text/html")})
    assert (answer.status_code, answer.json()) == (201, plain)


def test_form_may_carry_the_sessions_token(ada: TestClient) -> None:
    token = ada.headers.pop("X-CSRF-Token")
    files = {"photo": ("plate.jpg", PHOTO)}
    assert ada.post("/api/photos", files=files).status_code == 403
    assert ada.post("/api/photos", files=files, data={"csrf_token": token}).status_code == 201


@pytest.mark.parametrize("form", [{"files": {"other": b"x"}}, {"files": {"photo": (None, b"x")}}])
def test_form_without_a_photo_is_told(ada: TestClient, form: dict[str, object]) -> None:
    answer = ada.post("/api/photos", **form)
    assert (answer.status_code, answer.json()["wrong"]) == (400, "The form holds no photo")


@pytest.mark.parametrize(
    ("data", "status", "slug"),
    [
        (b"", 415, "not-a-picture"),
        (b"<svg/>", 415, "not-a-picture"),
        (b"\0\0\0\x1cftypheic" + bytes(90), 415, "heic-picture"),
        (PHOTO[:-200], 422, "broken-picture"),
        (make_photo(Image.new("RGB", (1, 1000)), "PNG"), 422, "picture-shape"),
        (b"\xff\xd8\xff" + bytes(20_000_000), 413, "picture-too-large"),
    ],
)
def test_what_cannot_be_taken_is_told_as_a_problem(
    ada: TestClient, data: bytes, status: int, slug: str
) -> None:
    answer = send(ada, data)
    assert answer.status_code == status
    assert answer.json()["type"] == f"urn:hardstand:problem:{slug}"


def test_body_far_beyond_the_bound_is_stopped_while_it_comes_in(ada: TestClient) -> None:
    answer = send(ada, bytes(21_000_000))
    assert answer.status_code == 413
    assert "The body has more than" in answer.json()["detail"]


def test_digest_that_is_none_or_unknown_is_told(ada: TestClient) -> None:
    assert ada.get(f"/api/photos/{'0' * 64}").status_code == 404
    assert ada.get("/api/photos/..%2f..%2fsecret").status_code == 404
    for digest in ("secret", "A" * 64, "0" * 65):
        assert ada.get(f"/api/photos/{digest}").status_code == 422
    assert ada.get(f"/api/photos/{'0' * 64}", params={"size": "huge"}).status_code == 422


def test_many_photos_at_once_are_all_kept(ada: TestClient) -> None:
    photos = [make_photo(make_scene(320 + number, 240)) for number in range(8)]
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda photo: send(ada, photo), photos))
    assert [answer.status_code for answer in answers] == [201] * 8
    assert len({answer.json()["digest"] for answer in answers}) == 8


def test_program_that_reports_may_send_and_one_that_reads_may_look(site: Site) -> None:
    reports, reads = site.machine(Scope.REPORT), site.machine(Scope.READ)
    digest = send(reports).json()["digest"]
    assert send(reads).status_code == 403
    assert reads.get(f"/api/photos/{digest}").status_code == 200
    assert reports.get(f"/api/photos/{digest}").status_code == 403
    assert send(site.client()).status_code == 401


def test_photo_sent_first_is_named_by_the_event_that_follows(site: Site, ada: TestClient) -> None:
    digest = send(ada).json()["digest"]
    site.depot.record(report("gate-in", photos=[digest]))
    assert ada.get(f"/api/photos/{site.depot.show().record['photos'][0]}").status_code == 200


def looks(client: TestClient, digest: str) -> int:
    status: int = client.get(f"/api/photos/{digest}", params={"size": "small"}).status_code
    return status


def test_photo_that_no_event_names_is_seen_by_who_sent_it_and_by_who_sees_all(site: Site) -> None:
    sender, other = site.person("NORTH:gate"), site.person("NORTH:manager", name="other")
    program, everywhere = (
        site.machine(Scope.REPORT, Scope.READ, depots=("NORTH",)),
        site.machine(Scope.READ),
    )
    digest, machines = send(sender).json()["digest"], send(program, PNG).json()["digest"]
    assert [looks(one, digest) for one in (sender, other, program, everywhere)] == [
        200,
        404,
        404,
        200,
    ]
    assert [looks(one, machines) for one in (sender, program)] == [404, 200]


def test_photo_is_seen_by_those_who_see_its_event(site: Site) -> None:
    sender, south = site.person("NORTH:gate"), site.person("SOUTH:manager", name="south")
    north = site.person("NORTH:sales", name="north")
    came, went = send(sender).json()["digest"], send(sender, PNG).json()["digest"]
    site.depot.record(report("gate-in", plate={"photo": came}))
    assert [looks(one, came) for one in (north, south)] == [200, 404]
    # Its history goes with the box; the depot it left sees what happened until then.
    site.depot.record(
        report("gate-out", to_depot="SOUTH", purpose="transfer"),
        report("gate-in", depot="SOUTH", happened_at="2026-03-02T07:30:00+00:00", signature=went),
    )
    assert [looks(one, came) for one in (north, south)] == [200, 200]
    assert [looks(one, went) for one in (north, south)] == [404, 200]


def test_depot_that_a_unit_left_sees_the_photos_from_before_it_came(site: Site) -> None:
    sender, south = site.person("NORTH:gate"), site.person("SOUTH:gate", name="south")
    digest = send(sender).json()["digest"]
    site.depot.record(report("gate-in", photos=[digest]))
    for kind, hour, said in (
        ("gate-out", 8, {"to_depot": "SOUTH", "purpose": "transfer"}),
        ("gate-in", 9, {"depot": "SOUTH"}),
        ("gate-out", 10, {"depot": "SOUTH", "to_depot": "EAST", "purpose": "transfer"}),
        ("gate-in", 11, {"depot": "EAST"}),
    ):
        at = f"2026-03-02T{hour - 1:02}:30:00+00:00"
        site.depot.record(report(kind, happened_at=at, **said))
    east, west = site.person("EAST:gate", name="east"), site.person("WEST:gate", name="west")
    assert [looks(one, digest) for one in (south, east, west)] == [200, 200, 404]


def test_forgotten_photo_is_gone_for_everybody(site: Site, ada: TestClient) -> None:
    digest = send(ada).json()["digest"]
    assert forget(replace(site.depot.web, engine=site.depot.owner), digest)
    assert looks(ada, digest) == 410


def test_store_that_is_away_is_a_503(yard: Depot, tmp_path_factory: pytest.TempPathFactory) -> None:
    blocked = tmp_path_factory.mktemp("away") / "a-file"
    blocked.write_bytes(b"")
    with open_site(yard.with_settings(photo_store=str(blocked))) as site:
        answer = send(site.person("NORTH:gate"))
    assert answer.status_code == 503
    assert answer.json()["wrong"] == "The photo store does not answer as it should"
