from os import PathLike
from typing import Any

Written = tuple[str, str, bool]

class Table:
    """A table with the Arrow stream protocol.

    ``pyarrow.table(t)``, ``polars.DataFrame(t)`` and DuckDB take it as it is, without a copy.
    """

    @property
    def column_names(self) -> list[str]:
        """Names of the columns, in order."""

    def __len__(self) -> int: ...
    def __arrow_c_stream__(self, requested_schema: object = None) -> object: ...

class Cooks:
    def __init__(
        self, cooks: object, events: object | None = None, settings: Written | None = None
    ) -> None: ...
    @property
    def names(self) -> list[str]: ...
    @property
    def with_log(self) -> list[str]: ...
    def derive(
        self,
        readings: object,
        asked: str,
        phases: object | None,
        references: object | None,
        whom: str,
        threads: int,
    ) -> list[tuple[str, Table]]: ...
    def references(self, phases: object) -> Table: ...
    def borrowers(self, phases: object, references: object) -> list[str]: ...
    def write(
        self, store: str | PathLike[str], tables: list[tuple[str, Any]], read: dict[str, str]
    ) -> bool: ...

def read_log(
    log: str | PathLike[str],
    cook: str,
    settings: Written | None,
    layouts: list[str | PathLike[str]],
    answers: list[tuple[str, str]],
) -> dict[str, Any]: ...
def simulate(fires: int, seed: int, first: int) -> list[tuple[str, Table]]: ...
def study(
    measures: object,
    history: object | None,
    degrees: object | None,
    moved: object | None,
    moved_history: object | None,
    cooks: object | None,
    scores: object | None,
    claims: Written | None,
    lock: Written | None,
    settings: Written | None,
) -> tuple[str, list[tuple[str, Table]]]: ...
def forecast(
    readings: object,
    cooks: Cooks,
    past_readings: object | None,
    past_cooks: Cooks | None,
    at_ms: int | None,
    level: int,
    bundled: bool,
) -> Table: ...
