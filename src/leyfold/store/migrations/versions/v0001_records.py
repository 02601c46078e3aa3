"""The book of records, and what is known of the book itself."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Tables `about` and `record`.

    `line` is the record as canonical JSON, `sha256` its hash; `chain` is the hash of the chain before it, of
    this row and of when and from whom it came, so that a row changed, lost or put elsewhere is noticed.
    `about` holds the id of the book, the last cursor given out and the last link of the chain.
    """
    op.create_table(
        "about",
        sa.Column("name", sa.Text, primary_key=True),
        sa.Column("value", sa.Text, nullable=False),
    )
    op.create_table(
        "record",
        sa.Column("seq", sa.Integer, primary_key=True),
        sa.Column("id", sa.Text, nullable=False, unique=True),
        sa.Column("line", sa.Text, nullable=False),
        sa.Column("sha256", sa.LargeBinary, nullable=False),
        sa.Column("received", sa.Text, nullable=False),
        sa.Column("via", sa.Text, nullable=False),
        sa.Column("chain", sa.LargeBinary, nullable=False),
    )
    op.execute("INSERT INTO about VALUES ('book', lower(hex(randomblob(16)))), ('seq', '0'), ('chain', '')")
