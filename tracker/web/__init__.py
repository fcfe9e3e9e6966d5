"""The API and the pages."""
