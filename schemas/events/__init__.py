"""What people and machines report: one class per kind, grouped by who reports it."""
