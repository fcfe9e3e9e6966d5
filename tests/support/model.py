"""The reference model as tests feed it: with events from factories."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from deploy.faults import model
from deploy.faults.model import ModelReceipt, doubts_in, refuses, said
from tests.support.events import START, make_event

__all__ = ["Model", "ModelReceipt", "doubts_in", "refuses", "said"]


@dataclass(slots=True)
class Model(model.Model):
    """All units there are, told of events by their factories."""

    def tell(self, kind: str, *, received: float = 600, **changes: object) -> ModelReceipt:
        """Judge an event from its factory, taken in `received` minutes after the start."""
        event = make_event(kind, **changes)
        return self.judge(event, START + timedelta(minutes=received))
