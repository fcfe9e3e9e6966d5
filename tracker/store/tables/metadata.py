"""What all tables share: their collection, how moments are kept, what time it is."""

from __future__ import annotations

from typing import Final

from sqlalchemy import DateTime, MetaData, text

METADATA: Final = MetaData()

MOMENT: Final = DateTime(timezone=True)

NOW: Final = text("clock_timestamp()")
