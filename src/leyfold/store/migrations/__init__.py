"""Alembic's folder: `env.py` and one module a version. What was released is never changed, only added to."""
