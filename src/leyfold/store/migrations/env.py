"""Called by Alembic: run the migrations in the transaction that `leyfold.store.migrate` has opened."""

from alembic import context

context.configure(connection=context.config.attributes["connection"], render_as_batch=True)
context.run_migrations()
