"""The Celery app and its tasks; nothing here thinks."""
