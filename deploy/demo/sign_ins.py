"""Four people who can sign in on the demo day, one for each job."""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from typing import Final

from deploy.demo.house import MANAGER, SALES_DESK, TARN
from tracker.services import accounts
from tracker.services.actor import EVERY_DEPOT, Grant, Role
from tracker.services.context import Context

_PEOPLE: Final = (
    (Role.GATE, TARN.gate, TARN.code),
    (Role.WORKSHOP, TARN.workshop, TARN.code),
    (Role.SALES, SALES_DESK, EVERY_DEPOT),
    (Role.MANAGER, MANAGER, EVERY_DEPOT),
)


@dataclass(frozen=True, slots=True)
class SignIn:
    """What a person types to sign in, and what they then are."""

    name: str
    password: str
    shown_as: str
    depot: str


def make_sign_ins(context: Context) -> list[SignIn]:
    """Make the accounts that are not there yet; return all four with their passwords.

    A password follows from this house's own secret: nobody elsewhere knows it, and it can be told
    again. Somebody who has changed theirs keeps what they chose.
    """
    there = {person.name for person in accounts.list_accounts(context)}
    sign_ins = []
    for role, shown_as, depot in _PEOPLE:
        one = SignIn(role.value, _password(context, role), shown_as, depot)
        if one.name not in there:
            accounts.add_account(
                context,
                one.name,
                shown_as=shown_as,
                password=one.password,
                grants=[Grant(depot, role)],
            )
        sign_ins.append(one)
    return sign_ins


def _password(context: Context, role: Role) -> str:
    named = f"demo day/{role.value}".encode()
    return f"{role.value}-{hmac.digest(context.secret, named, 'sha256').hex()[:10]}"
