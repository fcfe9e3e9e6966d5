"""Take pictures of every page at phone and desk size, with the demo day's data, for the README.

Run as `python -m deploy.screenshots docs/pictures`. Needs the development packages and a Chromium
(`deploy.browser`); starts servers of its own in a temporary folder and leaves nothing behind.
"""

from __future__ import annotations

import contextlib
import io
import sys
import tempfile
import threading
from collections.abc import Iterator
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

    `link` is clicked there first, the first of those that match; `opens` unfolds what is folded.
    """

    name: str
    who: str
    path: str
    link: str | None = None
    whole: bool = False


SHOTS: Final = (
    Shot("start", "manager", "/"),
    Shot("gate", "gate", "/gate"),
    Shot("departure", "gate", "/gate/departure"),
    Shot("workshop", "workshop", "/workshop"),
    Shot("sales", "sales", "/sales?length=20&condition=cargo-worthy"),
    Shot("compare", "sales", "/sales?length=20&condition=cargo-worthy", "@compare", whole=True),
    Shot("deal", "sales", "/sales?stands=sold", "main table th a", whole=True),
    Shot("release", "sales", "/sales?stands=released", "main table th a"),
    Shot("orders", "sales", "/orders"),
    Shot("stock", "manager", "/stock?presence=in-depot"),
    Shot("glance", "manager", "/stock/glance", whole=True),
    Shot("unit", "manager", "/stock?presence=in-depot&stands=sold", "main table th a", whole=True),
    Shot("questions", "manager", "/questions"),
    Shot("question", "manager", "/questions", "main .card a.button"),
    Shot("alerts", "manager", "/alerts"),
    Shot("people", "manager", "/people"),
)


@contextlib.contextmanager
def serve_demo(home: Path) -> Iterator[tuple[str, dict[str, SignIn]]]:
    """Serve a fresh demo day; give its address and who can sign in, by role."""
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
            yield url, people


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


def take_all(url: str, people: dict[str, SignIn], folder: Path) -> int:
    """Take every picture into a folder; return how many bytes they are."""
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=str(provide_browser()), args=list(FLAGS)
        )
        with contextlib.closing(browser):
            return sum(_take_size(browser, url, people, folder, size) for size in SIZES)


def _take_size(
    browser: Browser, url: str, people: dict[str, SignIn], folder: Path, size: str
) -> int:
    width, height = SIZES[size]
    total = 0
    for who in sorted({shot.who for shot in SHOTS}):
        context = browser.new_context(
            viewport={"width": width, "height": height}, base_url=url, has_touch=size == "phone"
        )
        with contextlib.closing(context):
            page = _sign_in(context, people[who])
            if who == "sales" and size == "desk":
                _make_a_deal(page)
            for shot in (one for one in SHOTS if one.who == who):
                total += _take(page, shot, folder / f"{shot.name}-{size}.png")
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


def _take(page: Page, shot: Shot, file: Path) -> int:
    page.goto(shot.path)
    if shot.link == "@compare":
        for box in page.locator("input[name='unit']").all()[:3]:
            box.check()
        page.get_by_role("button", name="Compare those ticked").click()
    elif shot.link is not None:
        page.locator(shot.link).first.click()
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
    """Take all pictures into the folder named."""
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "docs/pictures")
    with (
        tempfile.TemporaryDirectory(prefix="hardstand-pictures-") as home,
        serve_demo(Path(home)) as (url, people),
    ):
        total = take_all(url, people, folder)
    sys.stdout.write(f"{len(SHOTS) * len(SIZES)} pictures, {total // 1000} kB, in {folder}\n")


if __name__ == "__main__":
    main()
