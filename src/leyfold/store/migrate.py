"""Upgrades of what is stored. Alembic and SQLAlchemy are loaded here alone, when there is one to do."""

from __future__ import annotations

import sqlite3

__all__ = ["migrate"]


def migrate(connection: sqlite3.Connection, version: int) -> None:
    """Bring the database of `connection` up to `version`, all of it or nothing: one transaction."""
    from alembic import command
    from alembic.config import Config
    from sqlalchemy import create_engine
    from sqlalchemy.pool import StaticPool

    engine = create_engine("sqlite://", creator=lambda: connection, poolclass=StaticPool)
    with engine.connect() as wrapped:
        wrapped.exec_driver_sql("BEGIN IMMEDIATE")
        config = Config(attributes={"connection": wrapped})
        config.set_main_option("script_location", "leyfold.store:migrations")
        config.set_main_option("path_separator", "os")
        command.upgrade(config, f"{version:04d}")
        wrapped.exec_driver_sql(f"PRAGMA user_version={version}")
        wrapped.commit()
