"""How each kind of event changes a record: one function a kind, grouped as the schemas are."""
