"""Barbecue cook logs as phases, measures and answers.

Whatever has ``__arrow_c_stream__`` goes in (polars, pyarrow, DuckDB, pandas 2.2 or later), and every
:class:`Table` that comes out has it too: ``polars.DataFrame(t)``, ``pyarrow.table(t)``. Temperatures are °C,
masses kg, instants UTC; every other number has its unit in its name. What each column means stands in
``schemas/store.json`` of the project.

What is computed are temperatures and times: none of it says that food is fit to eat. Keep to your local food
code.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Protocol, TypeAlias

from . import _cookstudy
from ._cookstudy import Table
from .errors import (
    CookstudyError,
    LogError,
    NeedsAnswer,
    SettingsError,
    StoreError,
    TableError,
)

__all__ = [
    "ArrowStream",
    "CookstudyError",
    "Derived",
    "Inspection",
    "Log",
    "LogError",
    "Measured",
    "NeedsAnswer",
    "Segmented",
    "Settings",
    "SettingsError",
    "StoreError",
    "Study",
    "Table",
    "TableError",
    "derive",
    "forecast",
    "inspect",
    "measure",
    "read_log",
    "reference_coefficients",
    "segment",
    "study",
]


class ArrowStream(Protocol):
    """Anything with the Arrow stream protocol: a table, or a reader of batches."""

    def __arrow_c_stream__(self, requested_schema: Any = None) -> Any: ...


Settings: TypeAlias = "str | os.PathLike[str] | Mapping[str, Any]"
"""The path of a ``season.toml``, or a mapping of its keys: ``{"phases": {"stall_fraction": 0.35}}``."""


@dataclass(frozen=True)
class Inspection:
    """How a log would be read."""

    path: str
    """The log as it was named."""
    layout: str
    """The layout that it was read by."""
    content_hash: str
    """SHA-256 of its bytes, hexadecimal."""
    evidence: Table
    """A row a decision: ``what``, ``taken_as``, ``because``, and the ``setting`` that decides otherwise."""
    rejected: Table
    """What was read and not used: ``source``, ``line``, ``byte``, ``column``, ``code``, ``text``."""
    account: dict[str, int]
    """What became of its lines; all of them are counted."""
    warnings: list[str]
    """What to know although it was read."""
    metadata: list[tuple[str, str]]
    """Preamble, remarks and footer."""
    layout_toml: str
    """The layout as TOML: a file of it reads logs of this kind without asking."""
    description: str
    """All of this in words."""

    def __str__(self) -> str:
        return self.description


@dataclass(frozen=True)
class Log(Inspection):
    """A log, read."""

    readings: Table
    """A row a reading: ``cook``, ``channel``, ``role``, ``at``, ``elapsed_ms``, ``temp_c``, ``flag``, ``source``,
    ``line``."""


@dataclass(frozen=True)
class Segmented:
    """Phases of cooks, and what cleaning made of their readings."""

    phases: Table
    """A row a phase."""
    flags: Table
    """A row a stretch of readings of which there is something to know."""
    channels: Table
    """A row a channel."""
    warnings: Table
    """A row a thing that is odd."""


@dataclass(frozen=True)
class Measured:
    """Measures of cooks and what goes with them."""

    measures: Table
    """A row a cook."""
    history: Table
    """A row a cook and ten minutes of the study clock, which is zero where the core first is at 55 °C."""
    degrees: Table
    """A row a cook and °C of core from 55 to 88, split where it was wrapped or unwrapped."""
    moved: Table
    """A row a cook and moved constant of the phase definition: its stall under it."""
    moved_history: Table
    """The rows of ``history`` under each moved constant."""


@dataclass(frozen=True)
class Derived(Segmented, Measured):
    """All rows of cooks; their readings are cleaned once."""


@dataclass(frozen=True)
class Study:
    """Answers to the questions asked of the measures."""

    json: dict[str, Any]
    """What ``study.json`` holds."""
    tables: dict[str, Table]
    """The same as tables, by the names of the files in ``out/data``."""


def _written(given: Settings | None, name: str) -> tuple[str, str, bool] | None:
    """TOML as text with its name, or as JSON of what it means."""
    if given is None:
        return None
    if isinstance(given, Mapping):
        return json.dumps(given), name, True
    path = os.fspath(given)
    try:
        return Path(path).read_text("utf-8"), path, False
    except OSError as error:
        raise SettingsError(f"{path}: {error.strerror}", file=path) from error


def _read(
    log: str | os.PathLike[str],
    cook: str,
    settings: Settings | None,
    layouts: Sequence[str | os.PathLike[str]],
    answers: Mapping[str, str],
) -> dict[str, Any]:
    return _cookstudy.read_log(
        log, cook, _written(settings, "settings"), list(layouts), list(answers.items())
    )


def inspect(
    log: str | os.PathLike[str],
    settings: Settings | None = None,
    *,
    layouts: Sequence[str | os.PathLike[str]] = (),
    answers: Mapping[str, str] | None = None,
) -> Inspection:
    """How a log would be read: layout, every decision with its reason, what became of each line.

    ``layouts`` are files of layouts that are tried first, ``answers`` what was answered to questions, by their
    id. Raises :class:`NeedsAnswer` where the log can be read in two ways, else :class:`LogError`.
    """
    found = _read(log, Path(log).stem, settings, layouts, answers or {})
    found.pop("readings")
    return Inspection(**found)


def read_log(
    log: str | os.PathLike[str],
    settings: Settings | None = None,
    *,
    cook: str | None = None,
    layouts: Sequence[str | os.PathLike[str]] = (),
    answers: Mapping[str, str] | None = None,
) -> Log:
    """Reads a log: temperatures in °C, instants in UTC.

    ``cook`` is the name that its readings get, without one the file's. Clock times need a zone: the setting
    ``time_zone``, or an answer. Errors are those of :func:`inspect`.
    """
    return Log(**_read(log, cook or Path(log).stem, settings, layouts, answers or {}))


def _cooks(
    cooks: ArrowStream, events: ArrowStream | None, settings: Settings | None
) -> _cookstudy.Cooks:
    return _cookstudy.Cooks(cooks, events, _written(settings, "settings"))


def segment(
    readings: ArrowStream,
    cooks: ArrowStream,
    events: ArrowStream | None = None,
    settings: Settings | None = None,
    references: ArrowStream | None = None,
    *,
    threads: int = 0,
) -> Segmented:
    """Phases of cooks (ramp, stall, push, rest) with 90 % intervals, as ``cookstudy phases`` finds them.

    ``readings`` have a row a reading, the rows of a cook together and in time: ``cook``, ``channel``, ``role``
    (pit, meat, ambient, other), ``at`` (with a zone), ``temp_c``, and ``flag`` if there is one. ``cooks`` have a
    row a card; only ``cook`` must be there. ``events`` have ``cook``, ``at``, ``event``, ``value``, ``note``.

    A cook without a reference heating coefficient of its own borrows from the others of its cut and pit; with
    ``references`` (of :func:`reference_coefficients`) it borrows from those. A cook that cannot be used is a row
    ``unknown`` with its reason in ``not_judged_reason``. ``threads`` 0 takes all cores.
    """
    of = _cooks(cooks, events, settings)
    return Segmented(**dict(of.derive(readings, "phases", None, references, "all", threads)))


def measure(
    readings: ArrowStream,
    cooks: ArrowStream,
    events: ArrowStream | None,
    phases: ArrowStream,
    settings: Settings | None = None,
    references: ArrowStream | None = None,
    *,
    threads: int = 0,
) -> Measured:
    """Measures of cooks beside their phases, as ``cookstudy measures`` makes them.

    Arguments are those of :func:`segment`; ``phases`` are what it gave. Every cook of ``cooks`` has a row; one
    without readings or phases has what its card says. Who wants phases and measures calls :func:`derive`, which
    cleans each cook once.
    """
    of = _cooks(cooks, events, settings)
    return Measured(**dict(of.derive(readings, "measures", phases, references, "all", threads)))


def derive(
    readings: ArrowStream,
    cooks: ArrowStream,
    events: ArrowStream | None = None,
    settings: Settings | None = None,
    references: ArrowStream | None = None,
    *,
    threads: int = 0,
) -> Derived:
    """Phases and measures of cooks in one go: :func:`segment` and :func:`measure`."""
    of = _cooks(cooks, events, settings)
    return Derived(**dict(of.derive(readings, "all", None, references, "all", threads)))


def reference_coefficients(phases: ArrowStream, cooks: ArrowStream) -> Table:
    """What cooks lend each other: a row a cut and pit.

    ``cut``, ``pit``, ``median_per_h`` (reference heating coefficient, 1/h), ``spread_log`` (standard deviation of
    its logarithm), ``cooks`` (how many lend; fewer than three lend nothing). An excluded cook lends nothing.
    """
    return _cooks(cooks, None, None).references(phases)


def study(
    measures: ArrowStream,
    history: ArrowStream | None = None,
    claims: str | os.PathLike[str] | Sequence[Mapping[str, Any]] | None = None,
    settings: Settings | None = None,
    *,
    moved: ArrowStream | None = None,
    moved_history: ArrowStream | None = None,
) -> Study:
    """Asks the measures: what goes with a long stall, what wraps go with, and each claim.

    ``claims`` is the path of a ``claims.toml`` or a list of claims. Claims of wrap timing need ``history``; with
    ``moved`` and ``moved_history`` claims are asked under moved constants too. Without a lock every verdict is
    after the fact: whether a claim was there before the cooks, only ``cookstudy run`` can tell.
    """
    if claims is None or isinstance(claims, (str, os.PathLike)):
        written = _written(claims, "claims")
    else:
        written = _written({"claim": list(claims)}, "claims")
    text, tables = _cookstudy.study(
        measures, history, moved, moved_history, written, _written(settings, "settings")
    )
    return Study(json.loads(text), dict(tables))


def forecast(
    readings: ArrowStream,
    cooks: ArrowStream,
    events: ArrowStream | None = None,
    settings: Settings | None = None,
    *,
    past: tuple[ArrowStream, ArrowStream, ArrowStream | None] | None = None,
    at: datetime | None = None,
    level: int = 80,
    bundled: bool = True,
) -> Table:
    """When cooks that are on will be at the finish: a row a cook.

    ``past`` are readings, cooks and events of past cooks, ``at`` is the moment asked about (without one, each
    cook's last reading), ``level`` that of the ranges in per cent (50 to 99). ``bundled`` lets simulated cooks
    stand in while there are few of one's own. A cook without an answer says why in ``reason``.

    A core temperature is forecast, neither tenderness nor that food is fit to eat.
    """
    if not 50 <= level <= 99:
        raise ValueError(f"level {level} must lie between 50 and 99")
    if at is not None and at.tzinfo is None:
        raise ValueError("`at` has no time zone")
    before, known = None, None
    if past is not None:
        before, known = past[0], _cooks(past[1], past[2], settings)
    return _cookstudy.forecast(
        readings,
        _cooks(cooks, events, settings),
        before,
        known,
        None if at is None else round(at.timestamp() * 1000),
        level,
        bundled,
    )
