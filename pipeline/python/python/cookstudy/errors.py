"""What can go wrong, with file, line and column wherever there are any."""

from __future__ import annotations

from typing import Any


class CookstudyError(Exception):
    """Anything that stops a function of this package.

    ``file`` is the file as it was named, ``line`` counts from 1 (of a table: its row), ``column`` is the
    column's name; each is ``None`` where there is none.
    """

    def __init__(
        self,
        message: str,
        *,
        file: str | None = None,
        line: int | None = None,
        column: str | None = None,
        question: dict[str, Any] | None = None,
    ) -> None:
        super().__init__(message)
        self.file = file
        self.line = line
        self.column = column
        self.question = question


class ArgumentError(CookstudyError, ValueError):
    """An argument that is neither table, log nor settings and cannot be what it is."""


class LogError(CookstudyError):
    """A log that cannot be read."""


class NeedsAnswer(LogError):
    """A log that can be read in two ways that give different values.

    ``question`` has ``id``, ``asks``, ``because``, and ``answers``: what to take, and what the cook would then
    be. Give ``answers={question["id"]: ...}`` and read it again.
    """


class TableError(CookstudyError, ValueError):
    """A table that does not hold what it must; ``line`` is the row, from 1."""


class SettingsError(CookstudyError, ValueError):
    """Settings or claims that cannot be used."""


class StoreError(CookstudyError):
    """A store that cannot be read or written."""
