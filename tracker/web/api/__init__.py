"""The API: one file per thing asked for."""
