"""Check what is painted on a box, as it is typed."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query

from schemas.readings import Masses
from tracker.services.actor import Scope
from tracker.services.check import check
from tracker.services.sight import sight_of
from tracker.web.access import EVERY_ROLE, NotAllowedError, TheActor, needs
from tracker.web.means import TheMeans

router = APIRouter(prefix="/api/check", tags=["check"])

Painted = Annotated[str | None, Query(min_length=1, max_length=40, pattern=r"^[^\x00]*$")]
MassKg = Annotated[int | None, Query(ge=0, le=999_999)]
MassLb = Annotated[int | None, Query(ge=0, le=2_200_000)]


@router.get("")
@needs(*EVERY_ROLE, scope=Scope.READ)
def get_check(  # noqa: PLR0913 - one argument per field that can be asked for
    means: TheMeans,
    actor: TheActor,
    *,
    mark: Painted = None,
    size_type: Painted = None,
    gross_kg: MassKg = None,
    tare_kg: MassKg = None,
    payload_kg: MassKg = None,
    gross_lb: MassLb = None,
    tare_lb: MassLb = None,
    payload_lb: MassLb = None,
    depot: Annotated[
        str | None,
        Query(max_length=16, description="Where the box stands: what is expected there."),
    ] = None,
    leaves: Annotated[
        bool, Query(description="It leaves: what stands there is likelier than what is expected.")
    ] = False,
) -> dict[str, Any]:
    """Say whether a mark, a size-type code and masses can be right, and what they may be if not."""
    if depot is not None and not sight_of(actor).reaches(depot):
        # The order of suggestions would tell what stands there.
        raise NotAllowedError(f"a role at {depot}")
    masses = Masses(
        gross_kg=gross_kg,
        tare_kg=tare_kg,
        payload_kg=payload_kg,
        gross_lb=gross_lb,
        tare_lb=tare_lb,
        payload_lb=payload_lb,
    )
    found = check(
        means.context, mark=mark, size_type=size_type, masses=masses, depot=depot, leaves=leaves
    )
    return found.told()
