"""A signature is forgotten: its picture is gone, what was recorded of it stays provable."""

from dataclasses import replace
from uuid import UUID

import pytest

from tests.support import object_server
from tests.support.depot import BOX, OTHER, Depot, id_of, report
from tests.support.papers import read_text
from tests.support.pictures import make_photo, make_scene
from tracker.papers.interchange import interchange_pdf
from tracker.services.context import Context
from tracker.services.forget import forget
from tracker.services.interchange_receipts import receipt_of
from tracker.services.photos import PhotoForgottenError, open_photo, take_photo
from tracker.services.rebuild import rebuild
from tracker.services.sight import Sight
from tracker.services.verify import verify
from tracker.store import photo_files

DRAWN = make_photo(make_scene(320, 240), "PNG")


def as_owner(depot: Depot) -> Context:
    return replace(depot.web, engine=depot.owner)


def files_of(depot: Depot) -> int:
    return sum(path.is_file() for path in (depot.web.settings.home / "photos").rglob("*"))


def test_forgotten_signature_is_erased_and_every_chain_holds(depot: Depot) -> None:
    digest = take_photo(depot.web, DRAWN).digest
    came = report("gate-in", driver="Orin Vale", signature=digest)
    depot.record(came)
    before = verify(depot.web)
    assert forget(as_owner(depot), digest)
    assert files_of(depot) == 0
    with pytest.raises(PhotoForgottenError):
        open_photo(depot.web, digest)
    assert depot.show().history[0]["event"]["signature"] == digest
    assert verify(depot.web) == before
    assert rebuild(depot.worker, check_only=True).differing == []


def test_paper_printed_afterwards_says_that_the_signature_was_erased(depot: Depot) -> None:
    digest = take_photo(depot.web, DRAWN).digest
    came = report("gate-in", driver="Orin Vale", signature=digest)
    depot.record(came)
    forget(as_owner(depot), digest)
    receipt = receipt_of(depot.web, Sight(None), UUID(id_of(came)))
    text = " ".join(read_text(interchange_pdf(receipt)).split())
    assert f"Orin Vale (signed; the picture {digest[:12]} was erased on request)" in text


def test_forgotten_picture_does_not_come_back_when_it_is_sent_again(depot: Depot) -> None:
    receipt = take_photo(depot.web, DRAWN)
    forget(as_owner(depot), receipt.digest)
    assert take_photo(depot.web, DRAWN) == receipt
    assert files_of(depot) == 0


def test_other_pictures_stay_and_forgetting_again_finishes_what_was_left(depot: Depot) -> None:
    first = take_photo(depot.web, DRAWN).digest
    other = take_photo(depot.web, make_photo(make_scene(640, 480))).digest
    forget(as_owner(depot), first)
    # As if the store had been away the first time.
    photo_files.open_photo_files(None, depot.web.settings.home).keep(DRAWN)
    depot.change("UPDATE photos SET small = digest, large = digest WHERE forgotten_at IS NOT NULL")
    assert forget(as_owner(depot), first)
    assert open_photo(depot.web, other, "small").content
    assert files_of(depot) == 3


def test_picture_that_is_forgotten_while_it_is_sent_again_leaves_no_file(
    depot: Depot, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("AWS_ACCESS_KEY_ID", "KEY")
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "secret")
    with object_server.serve() as store:
        address = f"s3://boxes/photos?endpoint={store.url}&region=local"
        elsewhere = depot.with_settings(photo_store=address)
        receipt = take_photo(elsewhere.web, DRAWN)
        other = take_photo(elsewhere.web, make_photo(make_scene(640, 480))).digest
        kept = dict(store.objects)
        # The files are gone as if it were being forgotten already; then it is, between the two.
        store.objects.clear()
        store.meanwhile = lambda: forget(as_owner(elsewhere), receipt.digest)
        assert take_photo(elsewhere.web, DRAWN) == receipt
        assert store.meanwhile is None
        assert store.objects == {}
        store.objects.update(kept)
        assert open_photo(elsewhere.web, other).content


@pytest.mark.parametrize("value", ["ab" * 32, "AB" * 32, "../../secret"])
def test_digest_that_is_no_photo_forgets_nothing(depot: Depot, value: str) -> None:
    take_photo(depot.web, DRAWN)
    depot.record(report("gate-in", BOX), report("gate-in", OTHER))
    assert not forget(as_owner(depot), value)
    assert files_of(depot) > 0
