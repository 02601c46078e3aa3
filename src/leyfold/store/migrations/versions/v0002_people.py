"""Who may come in: passphrases, invitations and sessions. Of every token only its hash is kept."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Tables `passphrase`, `invitation` and `session`.

    People themselves stand in the farm file; `person` is their slug there. Invitations and sessions are of
    one `book`: putting back a backup, which makes another, must not bring a revoked phone back in. Instants
    are whole seconds since 1970, by the machine's own clock.
    """
    op.create_table(
        "passphrase",
        sa.Column("person", sa.Text, primary_key=True),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("set_s", sa.Integer, nullable=False),
    )
    op.create_table(
        "invitation",
        sa.Column("sha256", sa.LargeBinary, primary_key=True),
        sa.Column("person", sa.Text, nullable=False),
        sa.Column("book", sa.Text, nullable=False),
        sa.Column("until_s", sa.Integer, nullable=False),
    )
    op.create_table(
        "session",
        sa.Column("id", sa.Text, primary_key=True),
        sa.Column("sha256", sa.LargeBinary, nullable=False, unique=True),
        sa.Column("person", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("book", sa.Text, nullable=False),
        sa.Column("made_s", sa.Integer, nullable=False),
        sa.Column("seen_s", sa.Integer, nullable=False),
    )
