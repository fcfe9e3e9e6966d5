"""The record: judged, kept, asked for and shown."""
