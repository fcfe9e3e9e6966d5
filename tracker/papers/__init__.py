"""Papers and messages: bytes and text out of values, no database."""
