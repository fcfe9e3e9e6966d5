"""Nothing on the gate's and the workshop's pages shuts anybody out, in light and dark."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.support.accessibility import find_barriers
from tests.support.depot import BOX, OTHER, THIRD, report

if TYPE_CHECKING:
    from tests.browser.conftest import Device
    from tests.support.live_site import LiveSite

CRACK = {"component": "corner-fitting", "kind": "cracked", "measured_mm": 12}
PATHS = (
    "/gate",
    f"/gate/departure?mark={OTHER}",
    "/workshop",
    f"/workshop/unit?name={BOX}",
    f"/workshop/unit?name={OTHER}",
    f"/workshop/inspection?name={BOX}",
    f"/workshop/inspection?name={THIRD}",
    f"/units/{BOX}",
    f"/holds?unit={BOX}",
    "/walk",
)


def test_gate_and_workshop_shut_nobody_out(phone: Device, live: LiveSite) -> None:
    wall = {"work": "partition", "mass_kg": 160}
    live.depot.record(
        report("pre-advice", THIRD),
        report("gate-in", BOX),
        report("work-order", BOX, lines=[{"work": "louvre-vent"}, {"work": "lock-box"}]),
        report("inspection", BOX, damages=[{"component": "floor", "kind": "holed"}, CRACK]),
        report("hold", BOX, hold="do-not-stack", reason="the fitting is cracked"),
        report("gate-in", OTHER),
        report("sale", OTHER),
        report("modification", OTHER, fittings=[wall], weighed_tare_kg=4060),
    )
    page = phone.sign_in("NORTH:manager", to="/gate")
    barriers = {}
    for path in PATHS:
        page.goto(path)
        page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type] - one of its words
            barriers[path, scheme] = find_barriers(page)
    assert {at: found for at, found in barriers.items() if found} == {}
