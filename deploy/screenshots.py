"""Take pictures of every page at phone and desk size, with the demo day's data, for the README.

Run as `python -m deploy.screenshots docs/pictures`, with the names of pictures behind it to take
only those. Needs the development packages and a Chromium (`deploy.browser`); starts servers of its
own in a temporary folder and leaves nothing behind.
"""

from __future__ import annotations

import contextlib
import io
import sys
import tempfile
import threading
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import uvicorn
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
from rich.console import Console

from deploy import run as deployment
from deploy.browser import FLAGS, provide_browser
from deploy.demo import day, hand_in, sign_ins
from deploy.demo.house import BUYERS
from deploy.demo.sign_ins import SignIn
from deploy.demo.tell import Teller
from deploy.demo.today import tell_today
from shared.clock import SystemClock
from shared.settings import Settings
from tracker.services.context import Context
from tracker.services.drain_all import drain_all
from tracker.store.engine import make_engine
from tracker.web.app import create_app

_HOST: Final = "127.0.0.1"
_DRAIN_EVERY_S: Final = 0.05
_COLOURS: Final = 128
_TALLEST: Final = 1700

SIZES: Final = {"desk": (1280, 860), "phone": (390, 844)}


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture: its name, whose page it is, and where the page is.

    `links` are clicked from there one after the other, each the first of those that match. A path
    may name what `Demo` knows.
    """

    name: str
    who: str
    path: str
    links: tuple[str, ...] = ()
    whole: bool = False


_SOLD: Final = "/stock?presence=in-depot&stands=sold"
_FIRST: Final = "main table th a"
_CORRECT_ARRIVAL: Final = ".line li:has(.what:has-text('Came in')) a[href^='/corrections/']"

SHOTS: Final = (
    Shot("start", "manager", "/"),
    Shot("gate", "gate", "/gate"),
    Shot("departure", "gate", "/gate/departure?mark={claimed}"),
    Shot("walk", "gate", "/walk"),
    Shot("workshop", "workshop", "/workshop"),
    Shot(
        "inspection", "workshop", "/workshop", ("main a[href^='/workshop/unit']", "text=Inspect it")
    ),
    Shot("holds", "workshop", "/holds?unit={claimed}", ("summary:has-text('Hold it')",)),
    Shot("sales", "sales", "/sales?length=20&condition=cargo-worthy"),
    Shot("compare", "sales", "/sales?length=20&condition=cargo-worthy", ("@compare",), whole=True),
    Shot("deal", "sales", "/sales?stands=sold", (_FIRST,), whole=True),
    Shot("release", "sales", "/sales?stands=released", (_FIRST,)),
    Shot("orders", "sales", "/orders"),
    Shot("order", "sales", "/orders", ("main .card a",), whole=True),
    Shot("batch", "sales", "/batches", ("main a[href^='/batches?batch=']",)),
    Shot("stock", "manager", "/stock?presence=in-depot"),
    Shot("glance", "manager", "/stock/glance", whole=True),
    Shot("unit", "manager", _SOLD, (_FIRST,), whole=True),
    Shot("correction", "manager", _SOLD, (_FIRST, _CORRECT_ARRIVAL), whole=True),
    Shot("claims", "manager", "/claims?unit={claimed}", whole=True),
    Shot("questions", "manager", "/questions"),
    Shot("question", "manager", "/questions", ("main .card a.button",)),
    Shot("alerts", "manager", "/alerts"),
    Shot("people", "manager", "/people"),
)


@dataclass(frozen=True, slots=True)
class Demo:
    """A demo day that is served."""

    url: str
    people: dict[str, SignIn]
    """Who can sign in, by role."""
    claimed: str
    """The mark of a unit with an open claim."""


@contextlib.contextmanager
def serve_demo(home: Path) -> Iterator[Demo]:
    """Serve a fresh demo day."""
    with (
        deployment.prepared(Settings(home=home)) as addresses,
        contextlib.ExitStack() as held,
    ):
        web, worker = (
            Context(make_engine(url, name="hardstand-pictures"), addresses.settings, SystemClock())
            for url in (addresses.databases.web, addresses.databases.worker)
        )
        held.callback(web.engine.dispose)
        held.callback(worker.engine.dispose)
        teller = Teller(Console(file=io.StringIO()))
        told = day.prepare(web, worker, teller)
        incidents = tell_today(told.cast, told.moment)
        with teller.progress("Today", 1) as tick:
            hand_in.live_today(web, incidents, lambda: drain_all(worker), tick)
        people = {one.name: one for one in sign_ins.make_sign_ins(web)}
        with _serving(web, worker) as url:
            yield Demo(url, people, told.cast.trade.taken_back.mark)


@contextlib.contextmanager
def _serving(web: Context, worker: Context) -> Iterator[str]:
    stop = threading.Event()

    def drain() -> None:
        while not stop.wait(_DRAIN_EVERY_S):
            drain_all(worker)

    server = uvicorn.Server(
        uvicorn.Config(create_app(web), _HOST, 0, log_config=None, timeout_graceful_shutdown=1)
    )
    threads = [threading.Thread(target=one) for one in (server.run, drain)]
    for thread in threads:
        thread.start()
    try:
        while not server.started:
            stop.wait(_DRAIN_EVERY_S)
        port = server.servers[0].sockets[0].getsockname()[1]
        yield f"http://{_HOST}:{port}"
    finally:
        server.should_exit = True
        stop.set()
        for thread in threads:
            thread.join()


def take(shots: Collection[Shot], demo: Demo, folder: Path) -> int:
    """Take pictures into a folder, each at every size; return how many bytes they are."""
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=str(provide_browser()), args=list(FLAGS)
        )
        with contextlib.closing(browser):
            return sum(_take_size(browser, demo, shots, folder, size) for size in SIZES)


def _take_size(
    browser: Browser,
    demo: Demo,
    shots: Collection[Shot],
    folder: Path,
    size: str,
) -> int:
    width, height = SIZES[size]
    total = 0
    for who in sorted({shot.who for shot in shots}):
        context = browser.new_context(
            viewport={"width": width, "height": height},
            base_url=demo.url,
            has_touch=size == "phone",
        )
        with contextlib.closing(context):
            page = _sign_in(context, demo.people[who])
            if who == "sales" and size == "desk":
                _make_a_deal(page)
            for shot in (one for one in shots if one.who == who):
                total += _take(page, demo, shot, folder / f"{shot.name}-{size}.png")
    return total


def _sign_in(context: BrowserContext, person: SignIn) -> Page:
    page = context.new_page()
    page.goto("/sign-in")
    page.fill("#name", person.name)
    page.fill("#password", person.password)
    page.click("main button")
    page.wait_for_load_state()
    return page


def _make_a_deal(page: Page) -> None:
    """Sell a unit and release it, and place an order, so that the pages have them to show."""
    page.goto("/sales")
    page.locator("main table th a").first.click()
    page.locator("summary", has_text="Sell it").click()
    page.fill("#s-buyer", BUYERS[0])
    page.check("[name='paid:bool']")
    page.get_by_role("button", name="Sell", exact=True).click()
    page.get_by_role("button", name="Release", exact=True).click()
    page.wait_for_load_state()
    page.goto("/orders")
    page.fill("#o-buyer", BUYERS[1])
    page.fill("#o-count", "3")
    page.get_by_role("button", name="Place the order").click()
    page.wait_for_load_state()


def _take(page: Page, demo: Demo, shot: Shot, file: Path) -> int:
    page.goto(shot.path.format(claimed=demo.claimed))
    for link in shot.links:
        if link == "@compare":
            for box in page.locator("input[name='unit']").all()[:3]:
                box.check()
            page.get_by_role("button", name="Compare those ticked").click()
        else:
            page.locator(link).first.click()
    page.wait_for_load_state("networkidle")
    data = page.screenshot(full_page=shot.whole)
    file.write_bytes(_shrunk(data))
    return file.stat().st_size


def _shrunk(data: bytes) -> bytes:
    """Return a picture with few colours and no taller than a reader scrolls."""
    with Image.open(io.BytesIO(data)) as opened:
        picture = opened.convert("RGB")
        picture = picture.crop((0, 0, picture.width, min(picture.height, _TALLEST)))
        out = io.BytesIO()
        picture.quantize(_COLOURS, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
    return out.getvalue()


def main() -> None:
    """Take all pictures, or those named, into the folder named."""
    folder, *names = sys.argv[1:] or ["docs/pictures"]
    if unknown := set(names) - {shot.name for shot in SHOTS}:
        sys.exit(f"There is no picture {', '.join(sorted(unknown))}.")
    shots = [shot for shot in SHOTS if not names or shot.name in names]
    with (
        tempfile.TemporaryDirectory(prefix="hardstand-pictures-") as home,
        serve_demo(Path(home)) as demo,
    ):
        total = take(shots, demo, Path(folder))
    sys.stdout.write(f"{len(shots) * len(SIZES)} pictures, {total // 1000} kB, in {folder}\n")


if __name__ == "__main__":
    main()
