"""Who may come in, kept beside the records: hashes of passphrases, invitations open yet, sessions."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from leyfold.store.records import Store

__all__ = ["People", "Session"]

_COLUMNS = "id, person, name, made_s, seen_s"


@dataclass(frozen=True, slots=True)
class Session:
    """One browser somebody signed in with. `name` says what it is ("Android"); instants in seconds since
    1970, by the machine's own clock."""

    id: str
    person: str
    name: str
    made_s: int
    seen_s: int


class People:
    """The tables of people in a store. Tokens come in as they are and are kept as their SHA-256: they are
    256 random bits, so nothing slower is needed. Safe for threads."""

    def __init__(self, store: Store) -> None:
        self._database = store.database
        self._book = store.book

    # passphrases

    def passphrase(self, person: str) -> str | None:
        """The hash of a person's passphrase; None where there is none."""
        with self._database.reading() as book:
            row = book.execute("SELECT hash FROM passphrase WHERE person = ?", (person,)).fetchone()
        return None if row is None else str(row[0])

    def set_passphrase(self, person: str, hash: str, now_s: int) -> None:
        with self._database.writing() as book:
            book.execute("INSERT OR REPLACE INTO passphrase VALUES (?, ?, ?)", (person, hash, now_s))

    # invitations

    def invite(self, person: str, token: str, until_s: int, now_s: int) -> None:
        """Keep an invitation; those that ran out are forgotten."""
        with self._database.writing() as book:
            book.execute("DELETE FROM invitation WHERE until_s <= ? OR book <> ?", (now_s, self._book))
            row = (_sha(token), person, self._book, until_s)
            book.execute("INSERT INTO invitation VALUES (?, ?, ?, ?)", row)

    def invited(self, token: str, now_s: int) -> str | None:
        """Whom an invitation is for, None where it is none (any more). It stays as it is."""
        sql = "SELECT person FROM invitation WHERE sha256 = ? AND book = ? AND until_s > ?"
        with self._database.reading() as book:
            row = book.execute(sql, (_sha(token), self._book, now_s)).fetchone()
        return None if row is None else str(row[0])

    def use(self, token: str, now_s: int) -> str | None:
        """As `invited`, and it is used up: of two who try at once, one comes in."""
        sql = "DELETE FROM invitation WHERE sha256 = ? AND book = ? AND until_s > ? RETURNING person"
        with self._database.writing() as book:
            rows = book.execute(sql, (_sha(token), self._book, now_s)).fetchall()
        return str(rows[0][0]) if rows else None

    def uninvite(self, person: str) -> None:
        """Forget all invitations of a person."""
        with self._database.writing() as book:
            book.execute("DELETE FROM invitation WHERE person = ?", (person,))

    # sessions

    def begin(self, session: Session, token: str) -> None:
        with self._database.writing() as book:
            book.execute("DELETE FROM session WHERE book <> ?", (self._book,))
            row = (session.id, session.person, session.name, session.made_s, session.seen_s)
            sql = f"INSERT INTO session ({_COLUMNS}, sha256, book) VALUES (?, ?, ?, ?, ?, ?, ?)"
            book.execute(sql, (*row, _sha(token), self._book))

    def session(self, token: str) -> Session | None:
        """The open session of a token, however old."""
        sql = f"SELECT {_COLUMNS} FROM session WHERE sha256 = ? AND book = ?"
        with self._database.reading() as book:
            row = book.execute(sql, (_sha(token), self._book)).fetchone()
        return None if row is None else Session(*row)

    def sessions(self) -> tuple[Session, ...]:
        """All open ones, the one used last first."""
        sql = f"SELECT {_COLUMNS} FROM session WHERE book = ? ORDER BY seen_s DESC, id"
        with self._database.reading() as book:
            return tuple(Session(*row) for row in book.execute(sql, (self._book,)).fetchall())

    def seen(self, id: str, now_s: int) -> None:
        with self._database.writing() as book:
            book.execute("UPDATE session SET seen_s = ? WHERE id = ?", (now_s, id))

    def end(self, id: str) -> bool:
        """Whether there was one to end."""
        with self._database.writing() as book:
            return book.execute("DELETE FROM session WHERE id = ?", (id,)).rowcount > 0

    def end_all(self, person: str, *, but: str = "") -> None:
        """End all sessions of a person, save the one named."""
        with self._database.writing() as book:
            book.execute("DELETE FROM session WHERE person = ? AND id <> ?", (person, but))


def _sha(token: str) -> bytes:
    return hashlib.sha256(token.encode()).digest()
