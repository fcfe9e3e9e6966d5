"""The pages: one file per page, or per pair of a form and what it does."""
