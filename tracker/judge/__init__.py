"""Judgement, pure: a record and an event go in, findings and a new record come out."""
