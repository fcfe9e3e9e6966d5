"""A sender over HTTP that sends again, with the same ids, whatever got no answer."""

from __future__ import annotations

import time
from collections.abc import Sequence
from http.client import HTTPConnection, HTTPException
from typing import Final

from deploy.faults.scene import Scene
from tracker.services.actor import Scope
from tracker.services.keys import add_key

_TIMEOUT_S: Final = 30
_PAUSE_S: Final = 0.05
_DONE: Final = (200, 202)


class HttpSender:
    """A machine with a key of its own."""

    def __init__(self, scene: Scene) -> None:
        key = add_key(scene.web, "sender", scopes=[Scope.REPORT], depots=["*"])
        self._headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}
        self._scene = scene
        self._settings = scene.house.settings
        self.again = 0
        """How many lots were sent again."""

    def send(self, sent: Sequence[bytes]) -> None:
        """Send lot by lot, each until it is answered."""
        for lot in self._scene.stream.lots(sent):
            body = b"[" + b",".join(lot) + b"]"
            while not self._is_taken(body) and not self._scene.given_up.is_set():
                time.sleep(_PAUSE_S)

    def _is_taken(self, body: bytes) -> bool:
        connection = HTTPConnection(
            self._settings.web_host, self._settings.web_port, timeout=_TIMEOUT_S
        )
        asked = False
        try:
            connection.connect()
            asked = True
            connection.request("POST", "/api/events", body, self._headers)
            status = connection.getresponse().status
        except (OSError, HTTPException):
            self.again += asked
            return False
        finally:
            connection.close()
        if status in _DONE:
            return True
        if status < 500 and status != 429:
            raise RuntimeError(f"answered {status}")
        self.again += 1
        return False
