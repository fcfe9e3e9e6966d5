"""Servers stopped, crashed, emptied; connections cut, clocks set back, disks and mail failing."""

from __future__ import annotations

import io
import random
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Final

import orjson
from PIL import Image

from deploy.environment import environment_of
from deploy.faults.mailbox import Manner, open_mailbox
from deploy.faults.scene import FaultRunError, Scene
from shared.addresses import read_login
from shared.clock import StandingClock
from shared.ids import new_id
from tracker.services.context import Context
from tracker.services.photos import take_photo
from tracker.services.post import post_of, send_waiting
from tracker.services.sweep import sweep

_CUTS: Final = 25
_STEP: Final = 40
_LATER: Final = timedelta(hours=2)
_GIVEN_UP_AFTER: Final = 12


def empty_redis(scene: Scene) -> str:
    """Empty Redis while drains are in mid-transaction, and again and again while they go on."""
    times = 0
    with scene.sending():
        with scene.held_in_mid_transaction():
            scene.servers.flush_redis()
        while scene.count_waiting() and times < _CUTS:
            scene.servers.flush_redis()
            times += 1
            time.sleep(0.1)
    return f"emptied {times + 1} times"


def stop_redis(scene: Scene) -> str:
    """Stop Redis for a while; events are taken in all the same."""
    with scene.sending(), scene.held_in_mid_transaction():
        scene.servers.stop_redis()
        begun = time.monotonic()
    # All was sent meanwhile: nobody waits for Redis.
    rest = scene.pause_s - (time.monotonic() - begun)
    time.sleep(max(0.0, rest))
    waiting = scene.count_waiting()
    scene.servers.start_redis()
    return f"away {scene.pause_s:.0f} s; all events taken in meanwhile, {waiting} waited"


def crash_postgres(scene: Scene) -> str:
    """Crash PostgreSQL in mid-transaction, and start it again."""
    with scene.sending():
        for _ in range(2):
            with scene.held_in_mid_transaction() as connection:
                scene.servers.crash_postgres()
                connection.invalidate()
            scene.servers.start_postgres()
    return "crashed twice in mid-transaction"


def cut_connections(scene: Scene) -> str:
    """Cut the workers' connections in mid-transaction, many times."""
    cut, database = 0, read_login(scene.house.databases.owner).database
    with scene.sending():
        with scene.held_in_mid_transaction():
            cut += scene.servers.cut_workers(database)
        for _ in range(_CUTS):
            if not scene.count_waiting():
                break
            cut += scene.servers.cut_workers(database)
            time.sleep(0.1)
    return f"{cut} connections cut"


def sweep_twice(scene: Scene) -> str:
    """Let two sweeps run at once, over and over, beside beat's own."""
    done = threading.Event()

    def go_on() -> None:
        while not done.is_set():
            sweep(scene.web)

    sweeps = [threading.Thread(target=go_on, name=f"sweep-{number}") for number in range(2)]
    for one in sweeps:
        one.start()
    try:
        with scene.sending():
            pass
        scene.await_verdicts()
    finally:
        done.set()
        for one in sweeps:
            one.join()
    return "two at once all the while"


def send_only(scene: Scene) -> str:
    """Send; what goes wrong is the announcer's affair."""
    with scene.sending():
        pass
    scene.await_verdicts()
    return f"{scene.count_lost()} announcements lost"


def set_clock_back(scene: Scene) -> str:
    """Set the clock back and on while events are taken in and judged."""
    clock, chance = StandingClock(scene.web.clock.now()), random.Random(3)  # noqa: S311 - no secret
    scene.stand(clock)
    backwards = 0
    for start in range(0, len(scene.rest), _STEP):
        moved = timedelta(minutes=chance.randrange(-90, 60))
        backwards += moved < timedelta()
        clock.move(moved)
        scene.send(scene.rest[start : start + _STEP])
        clock.move(-moved / 2)
        if start % (3 * _STEP) == 0:
            scene.drain()
    scene.drain()
    return f"set back {backwards} times, up to 90 minutes"


def fill_disk(scene: Scene) -> str:
    """Fill the disk under the photo store; the photo is told as not kept, and taken in later."""
    photo = _make_photo()
    with scene.sending():
        command = [sys.executable, "-m", "deploy.faults.full_disk"]
        told = subprocess.run(  # noqa: S603 - our own program
            command,
            input=photo,
            env=environment_of(scene.house.settings),
            capture_output=True,
            check=True,
        ).stdout
        if told != b"full":
            raise FaultRunError(f"the full disk was not told: {told!r}")
        if scene.count("SELECT count(*) FROM photos"):
            raise FaultRunError("a photo is known that was not kept")
    digest = take_photo(scene.web, photo).digest
    last = orjson.loads(scene.rest[-1])
    event = {
        "kind": "inspection",
        "id": str(new_id()),
        "photos": [digest],
        "condition": "cargo-worthy",
    }
    said_too = {name: last[name] for name in ("depot", "mark", "happened_at", "reported_by")}
    scene.send([orjson.dumps(event | said_too)])
    return "told as full, nothing half kept; taken in afterwards"


_MAILS: Final = (
    "SELECT count(DISTINCT CASE WHEN role LIKE 'on duty%' THEN concat(depot, role, created_at)"
    " ELSE id::text END) FROM outbox"
)
"""What one batch finds at one depot goes as one mail."""


def mail_fault(manner: Manner) -> Callable[[Scene], str]:
    """Return the fault of a mail server that behaves so, and mends later."""

    def run(scene: Scene) -> str:
        with open_mailbox() as mailbox:
            mailbox.manner = manner
            clock = StandingClock(scene.web.clock.now())
            settings = scene.house.settings.changed(mail_url=mailbox.url)
            context = replace(scene.worker, settings=settings, clock=clock)
            with scene.sending():
                send_waiting(context, post_of(context), most=20)
            scene.await_verdicts()
            clock.set(scene.web.clock.now())
            for _ in range(_GIVEN_UP_AFTER):
                _send_side_by_side(context)
                clock.move(_LATER)
                mailbox.manner = Manner.TAKES
            letters = scene.count("SELECT count(*) FROM outbox")
            unsent = scene.count("SELECT count(*) FROM outbox WHERE state <> 'sent'")
            again = sum(mailbox.taken.values()) - len(mailbox.taken)
            ids = {message_id for message_id, _ in mailbox.taken}
            mails = scene.count(_MAILS)
            told = f"{letters} letters in {mails} mails, {len(ids)} ids"
            if unsent or not letters or not len(ids) == len(mailbox.taken) == mails:
                raise FaultRunError(f"{told}, {unsent} unsent, {len(mailbox.taken)} different")
            return (
                f"{letters} letters in {mails} mails, {mailbox.turned_away} times turned away,"
                f" {again} sent again, each with its own Message-ID"
            )

    return run


def _send_side_by_side(context: Context) -> None:
    senders = [
        threading.Thread(target=send_waiting, args=(context, post_of(context))) for _ in range(2)
    ]
    for one in senders:
        one.start()
    for one in senders:
        one.join()


def _make_photo() -> bytes:
    noise = random.Random(4).randbytes(160 * 120 * 3)  # noqa: S311 - a made-up picture
    file = io.BytesIO()
    Image.frombytes("RGB", (160, 120), noise).save(file, "JPEG")
    return file.getvalue()
