"""Processes killed, frozen and left alone, while they hold what they were given."""

from __future__ import annotations

import subprocess
import sys
from functools import partial
from typing import Final
from uuid import UUID

import psutil
import redis
from sqlalchemy import text

from deploy.environment import environment_of
from deploy.faults.fault_stream import id_of
from deploy.faults.http_sender import HttpSender
from deploy.faults.scene import FaultRunError, Scene
from deploy.process import Part
from shared.addresses import Role
from shared.task_names import TaskName
from tracker.announce import LaneAnnouncer
from tracker.services.let_go import let_go
from tracker.store import intake
from workers.app import create_celery

_TIMES: Final = 2


def kill_drain_child(scene: Scene) -> str:
    """Kill worker children that wait in mid-transaction, again and again."""
    with scene.sending():
        for _ in range(_TIMES):
            with scene.held_in_mid_transaction():
                victim = scene.children(Part.DRAIN)[0]
                victim.kill()
                scene.until(partial(_is_gone, victim), "the child gone")
    return f"{_TIMES} children killed in mid-transaction"


def kill_drain_parent(scene: Scene) -> str:
    """Kill the parent of the drain workers while they work; its children must not stay for ever."""
    orphans: list[psutil.Process] = []
    with scene.sending(), scene.held_in_mid_transaction():
        parent = scene.process(Part.DRAIN)
        orphans += parent.children()
        parent.kill()
    scene.await_verdicts()
    scene.until(lambda: all(map(_is_gone, orphans)), "the orphaned children gone")
    return f"its {len(orphans)} children ended by themselves"


def kill_slow_worker(scene: Scene) -> str:
    """Kill the worker that sweeps and sends, with the child that does so."""
    killed = 0
    with scene.sending():
        for _ in range(_TIMES):
            before = scene.process(Part.SLOW)
            for process in (before, *scene.children(Part.SLOW)):
                process.kill()
                killed += 1
            _await_another(scene, Part.SLOW, before)
    return f"{killed} processes killed; announcements all lost"


def kill_beat(scene: Scene) -> str:
    """Kill beat again and again."""
    with scene.sending():
        for _ in range(_TIMES):
            before = scene.process(Part.BEAT)
            before.kill()
            _await_another(scene, Part.BEAT, before)
    return f"killed {_TIMES} times; announcements all lost"


def kill_web(scene: Scene) -> str:
    """Kill the web process while a POST waits in mid-transaction; the sender sends it again."""
    sender = HttpSender(scene)
    with scene.sending(sender.send):
        for _ in range(_TIMES):
            with scene.owner.connect() as connection:
                connection.execute(text("LOCK TABLE intake IN EXCLUSIVE MODE"))
                scene.until(lambda: scene.count_blocked(Role.WEB), "a POST in mid-transaction")
                before = scene.process(Part.WEB)
                before.kill()
                scene.until(partial(_is_gone, before), "the web process gone")
            _await_another(scene, Part.WEB, before)
    if sender.again < _TIMES:
        raise FaultRunError("no POST was broken off")
    return f"{_TIMES} POSTs broken off, {sender.again} sent again with their ids"


def freeze_drain_child(scene: Scene) -> str:
    """Freeze a worker while it holds a lane; another takes the lane, and the thaw does no harm."""
    with scene.sending(), scene.held_in_mid_transaction(workers=2):
        frozen = scene.children(Part.DRAIN)[0]
        frozen.suspend()
    scene.await_verdicts()
    judged = scene.count_judged()
    frozen.resume()
    scene.until(lambda: not _is_stopped(frozen), "the worker thawed")
    return f"{judged} verdicts while it was frozen"


def leave_to_web(scene: Scene) -> str:
    """Lose every announcement with nobody to sweep but the web process."""
    with scene.sending():
        pass
    return "no beat, no slow worker, every announcement lost"


def kill_by_event(scene: Scene) -> str:
    """Let one event kill every process that judges it, until it is set aside; then let it go."""
    deadly = id_of(scene.rest[len(scene.rest) // 2])
    deaths = 0
    with scene.sending():
        pass
    while scene.count_waiting():
        command = [sys.executable, "-m", "deploy.faults.mortal_drainer", deadly]
        done = subprocess.run(command, env=environment_of(scene.house.settings), check=False)  # noqa: S603 - our own program
        deaths += done.returncode != 0
    with scene.owner.begin() as connection:
        held = [str(row["event_id"]) for row in intake.list_held(connection)]
    if held != [deadly]:
        raise FaultRunError(f"held: {held}")
    let_go(scene.worker, UUID(deadly))
    scene.stream.set_aside.add(deadly)
    scene.drain()
    return f"{deaths} processes died of it, held alone, recorded once let go"


def repeat_announcements(scene: Scene) -> str:
    """Tell the workers of every lane hundreds of times, all at once and while they drain."""
    settings = scene.house.settings
    app, told = create_celery(settings), 0
    with scene.sending(), app.connection_for_write() as connection:
        while told < 800:
            for lane in range(settings.lanes):
                app.send_task(TaskName.DRAIN, args=[lane], queue="drain", connection=connection)
                told += 1
    return f"{told} announcements of {settings.lanes} lanes"


def make_announcer(scene: Scene) -> LaneAnnouncer:
    """Return a started announcer as the web process has."""
    settings = scene.house.settings
    client = redis.Redis.from_url(str(settings.redis_url), socket_timeout=1)
    announcer = LaneAnnouncer(create_celery(settings), client)
    announcer.start()
    return announcer


def _await_another(scene: Scene, part: Part, before: psutil.Process) -> None:
    scene.until(lambda: scene.pid(part) != before.pid, f"{part} started again")


def _is_gone(process: psutil.Process) -> bool:
    try:
        return not process.is_running() or bool(process.status() == psutil.STATUS_ZOMBIE)
    except psutil.NoSuchProcess:
        return True


def _is_stopped(process: psutil.Process) -> bool:
    try:
        return bool(process.status() == psutil.STATUS_STOPPED)
    except psutil.NoSuchProcess:
        return False
