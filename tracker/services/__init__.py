"""The use cases: one file, one use case, one transaction, the same for pages, API and workers."""
