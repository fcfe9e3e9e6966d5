"""Where the record is kept: PostgreSQL, reached by SQLAlchemy Core and set-based SQL."""
