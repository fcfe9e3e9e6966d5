"""What was read off a box: the masses on its doors and the lines of its safety plate."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field

from schemas.base import (
    Kilograms,
    Model,
    MonthField,
    PersonalText,
    PhotoDigest,
    Pounds,
    Text,
    amount_shape,
)

Cube = Annotated[Decimal, Field(ge=0, le=999, decimal_places=3), amount_shape(999, 3, 3)]
Factor = Annotated[Decimal, Field(gt=0, le=10, decimal_places=3)]


class Masses(Model):
    """The masses painted on the doors, each left out when not painted or not read.

    `gross` is the maximum gross mass, `payload` the net that may be loaded. Kilograms and pounds
    are both kept as painted; neither is derived from the other here.
    """

    gross_kg: Kilograms | None = None
    tare_kg: Kilograms | None = None
    payload_kg: Kilograms | None = None
    gross_lb: Pounds | None = None
    tare_lb: Pounds | None = None
    payload_lb: Pounds | None = None
    cube_m3: Cube | None = None


class PlateReading(Model):
    """The safety plate as read, line by line; a line that is absent or unreadable is left out.

    Names follow the wording in force since July 2014 (mass, load, force); a plate in the older
    wording (weight, racking test load value in kg) fills the same fields, `racking_kg` being the
    old form of `racking_n`. `no_plate` says that somebody looked and there is none.
    """

    no_plate: bool = False
    seen_by: PersonalText | None = None
    """Who looked, where there is no plate."""
    photo: PhotoDigest | None = None
    """The digest of the plate's photo."""
    approval_reference: Text | None = None
    manufactured_in: MonthField | None = None
    manufacturer_number: Text | None = None
    gross_kg: Kilograms | None = None
    gross_lb: Pounds | None = None
    stacking_kg: Kilograms | None = None
    stacking_lb: Pounds | None = None
    racking_n: Annotated[int, Field(ge=0, le=9_999_999)] | None = None
    racking_kg: Kilograms | None = None
    end_wall_factor: Factor | None = None
    side_wall_factor: Factor | None = None
    next_examination: MonthField | None = None
    """The month before which the next examination is due."""
    programme: Text | None = None
    """The reference of an approved continuous examination programme (begins with ACEP)."""
    one_door_off_stacking_kg: Kilograms | None = None
    one_door_off_racking_n: Annotated[int, Field(ge=0, le=9_999_999)] | None = None
