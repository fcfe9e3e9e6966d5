"""Faults injected while events are in flight, each followed by a comparison with the model."""
