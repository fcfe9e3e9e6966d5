"""Bring a database to the newest schema, by its migrations."""

from __future__ import annotations

from importlib import resources

from alembic import command
from alembic.config import Config
from sqlalchemy import create_engine


def migrations_config() -> Config:
    """Return Alembic's settings: where the migrations are, and nothing else."""
    config = Config()
    folder = resources.files("tracker.store") / "migrations"
    config.set_main_option("script_location", str(folder))
    return config


def upgrade(database_url: str, revision: str = "head") -> None:
    """Migrate the database at `database_url` (the owner's address) up to `revision`.

    May be called again; finds nothing to do then. The roles must exist (`deploy.bootstrap`).
    """
    _run(database_url, command.upgrade, revision)


def downgrade(database_url: str, revision: str) -> None:
    """Migrate the database back to `revision`."""
    _run(database_url, command.downgrade, revision)


def check(database_url: str) -> None:
    """Raise Alembic's CommandError when the tables and the migrations differ."""
    _run(database_url, command.check)


def _run(database_url: str, order: object, *arguments: str) -> None:
    config = migrations_config()
    engine = create_engine(database_url)
    try:
        with engine.begin() as connection:
            config.attributes["connection"] = connection
            order(config, *arguments)  # type: ignore[operator]  # Alembic's commands differ in shape
    finally:
        engine.dispose()
