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
import math
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, Protocol, TypeAlias

from . import _cookstudy
from ._cookstudy import Table
from .errors import (
    ArgumentError,
    CookstudyError,
    LogError,
    NeedsAnswer,
    SettingsError,
    StoreError,
    TableError,
)

__all__ = [
    "ArgumentError",
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
    "Simulated",
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
    "simulate",
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
    """A row a phase: ``start_s`` and ``end_s`` in seconds from ``meat_on_at``, ``start_at`` and ``end_at`` in UTC with
    their 90 % intervals, ``start_core_c`` and ``end_core_c`` in °C, ``k_ref_per_h`` in 1/h, ``stall_min_lo90`` and
    ``stall_min_hi90`` in minutes."""
    flags: Table
    """A row a stretch of readings of which there is something to know: ``start_at`` and ``end_at`` in UTC,
    ``size_c`` in °C."""
    channels: Table
    """A row a channel: its role, ``readings`` how many, ``highest_c`` and its corrections in °C."""
    warnings: Table
    """A row a thing that is odd, with a sentence that says so."""


@dataclass(frozen=True)
class Measured:
    """Measures of cooks and what goes with them."""

    measures: Table
    """A row a cook: in ``_min`` minutes, in ``_c`` °C, in ``_kg`` kg, in ``_ms`` milliseconds since 1970 UTC."""
    history: Table
    """A row a cook and ten minutes (``minute``) of the study clock, which is zero where the core first is at 55 °C."""
    degrees: Table
    """A row a cook and °C of core from 55 to 88, split where it was wrapped or unwrapped: ``time_min`` in minutes,
    ``dose_kh`` in K·h, ``gap_c`` in °C."""
    moved: Table
    """A row a cook and moved constant of the phase definition: its stall under it, ``stall_min`` in minutes."""
    moved_history: Table
    """The rows of ``history`` under each moved constant."""


@dataclass(frozen=True)
class Derived(Segmented, Measured):
    """All rows of cooks; their readings are cleaned once."""


@dataclass(frozen=True)
class Simulated:
    """Cooks that nobody cooked."""

    readings: Table
    """A row a reading, one a minute: ``temp_c`` in °C, ``at`` in UTC."""
    cooks: Table
    """A row a card."""
    events: Table
    """A row an event."""


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
        return json.dumps(_plain(given, name)), name, True
    if not isinstance(given, (str, os.PathLike)):
        raise SettingsError(f"{name}: a {type(given).__name__} is neither a path nor a mapping")
    path = os.fspath(given)
    if "\n" in path:
        raise SettingsError(f"{name}: a text with several lines is no path; give a path or a mapping")
    try:
        return Path(path).read_text("utf-8"), path, False
    except OSError as error:
        raise SettingsError(f"{path}: {error.strerror}", file=path) from error
    except UnicodeDecodeError as error:
        raise SettingsError(f"{path}: is not text in UTF-8 ({error.reason})", file=path) from error


def _plain(value: Any, where: str) -> Any:
    """What TOML can hold: numbers of numpy become numbers, dates text; a key without a value is left out."""
    if isinstance(value, Mapping):
        return {
            str(key): _plain(item, f"{where}.{key}")
            for key, item in value.items()
            if item is not None
        }
    if isinstance(value, (list, tuple)):
        return [_plain(item, where) for item in value]
    if isinstance(value, (str, bool, int)):
        return value
    if isinstance(value, float):
        if not math.isfinite(value):
            raise SettingsError(f"{where}: {value} is no number")
        return value
    if isinstance(value, (date, datetime, time)):
        return value.isoformat()
    if isinstance(value, os.PathLike):
        return os.fspath(value)
    if hasattr(value, "item"):
        return _plain(value.item(), where)
    raise SettingsError(f"{where}: a {type(value).__name__} cannot stand in TOML")


def _path(given: Any, name: str) -> str:
    if isinstance(given, (str, os.PathLike)):
        path = os.fspath(given)
        if isinstance(path, str) and path and "\0" not in path:
            return path
    raise ArgumentError(f"{name}: {given!r} is no path")


def _threads(threads: Any) -> int:
    if isinstance(threads, int) and not isinstance(threads, bool) and threads >= 0:
        return min(threads, 1 << 16)
    raise ArgumentError(f"threads: {threads!r} is no count; 0 takes all cores")


def _read(
    log: str | os.PathLike[str],
    cook: str | None,
    settings: Settings | None,
    layouts: str | os.PathLike[str] | Sequence[str | os.PathLike[str]],
    answers: Mapping[str, str],
) -> dict[str, Any]:
    path = _path(log, "log")
    if cook is not None and not (isinstance(cook, str) and cook):
        raise ArgumentError(f"cook: {cook!r} is no name")
    if isinstance(layouts, (str, os.PathLike)):
        layouts = [layouts]
    if not isinstance(answers, Mapping):
        raise ArgumentError("answers: give what was answered by the ids of the questions")
    return _cookstudy.read_log(
        path,
        cook or Path(path).stem,
        _written(settings, "settings"),
        [_path(layout, "layouts") for layout in layouts],
        [(str(question), str(answer)) for question, answer in answers.items()],
    )


def inspect(
    log: str | os.PathLike[str],
    settings: Settings | None = None,
    *,
    layouts: str | os.PathLike[str] | Sequence[str | os.PathLike[str]] = (),
    answers: Mapping[str, str] | None = None,
) -> Inspection:
    """How a log would be read: layout, every decision with its reason, what became of each line.

    ``layouts`` are files of layouts that are tried first, ``answers`` what was answered to questions, by their
    id. Raises :class:`NeedsAnswer` where the log can be read in two ways, else :class:`LogError`.
    """
    found = _read(log, None, settings, layouts, answers or {})
    found.pop("readings")
    return Inspection(**found)


def read_log(
    log: str | os.PathLike[str],
    settings: Settings | None = None,
    *,
    cook: str | None = None,
    layouts: str | os.PathLike[str] | Sequence[str | os.PathLike[str]] = (),
    answers: Mapping[str, str] | None = None,
) -> Log:
    """Reads a log: temperatures in °C, instants in UTC.

    ``cook`` is the name that its readings get, without one the file's. Clock times need a zone: the setting
    ``time_zone``, or an answer. Errors are those of :func:`inspect`.
    """
    return Log(**_read(log, cook, settings, layouts, answers or {}))


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

    ``readings`` have a row a reading, sorted by ``cook``, ``channel`` and ``at``: ``cook``, ``channel``, ``role``
    (``pit``, ``meat``, ``ambient``, ``other``), ``at`` (an instant with a time zone), ``temp_c`` (°C; what looks
    like °F is refused), and ``flag`` if there is one. A row without a temperature is no reading.

    ``cooks`` have a row a card; only ``cook`` must be there. Further columns are those of a store's
    ``cooks.parquet``, with their units in their names: ``cut``, ``pit``, ``trimmed_weight_kg``, ``pit_setpoint_c``,
    ``meat_on_at``, ``wrap_at``, ``pull_at`` (instants with a time zone); a column of another name is the team's
    own. ``events`` have ``cook``, ``at``, ``event``, ``value`` (``250F``, ``paper``), ``note``.

    A cook without a reference heating coefficient of its own borrows from the others of its cut and pit; with
    ``references`` (of :func:`reference_coefficients`) it borrows from those. A cook that cannot be judged is a row
    ``unknown`` with its reason in ``not_judged_reason``; rows that cannot be used raise :class:`TableError`
    with row and column. ``threads`` 0 takes all cores.

    Units: ``start_s`` and ``end_s`` are seconds from the cook's ``meat_on_at``, columns in ``_at`` instants UTC,
    in ``_c`` °C, in ``_per_h`` 1/h, in ``_min`` minutes.
    """
    of = _cooks(cooks, events, settings)
    return Segmented(**dict(of.derive(readings, "phases", None, references, "all", _threads(threads))))


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

    Units stand in the names: ``_min`` minutes, ``_c`` °C, ``_kg`` kg, ``_per_h`` 1/h, ``_at`` instants UTC.
    ``stall_min`` is 0 without a stall and null where none could be judged.
    """
    of = _cooks(cooks, events, settings)
    return Measured(**dict(of.derive(readings, "measures", phases, references, "all", _threads(threads))))


def derive(
    readings: ArrowStream,
    cooks: ArrowStream,
    events: ArrowStream | None = None,
    settings: Settings | None = None,
    references: ArrowStream | None = None,
    *,
    threads: int = 0,
) -> Derived:
    """Phases and measures of cooks in one go: :func:`segment` and :func:`measure`, with their units.

    Arguments are those of :func:`segment`.
    """
    of = _cooks(cooks, events, settings)
    return Derived(**dict(of.derive(readings, "all", None, references, "all", _threads(threads))))


def reference_coefficients(phases: ArrowStream, cooks: ArrowStream) -> Table:
    """What cooks lend each other: a row a cut and pit.

    ``cut``, ``pit``, ``median_per_h`` (reference heating coefficient, 1/h), ``spread_log`` (standard deviation of
    its logarithm), ``cooks`` (how many lend; fewer than three lend nothing). An excluded cook lends nothing.
    """
    return _cooks(cooks, None, None).references(phases)


def study(
    measures: ArrowStream,
    history: ArrowStream | None = None,
    claims: str | os.PathLike[str] | Mapping[str, Any] | Sequence[Mapping[str, Any]] | None = None,
    settings: Settings | None = None,
    *,
    degrees: ArrowStream | None = None,
    moved: ArrowStream | None = None,
    moved_history: ArrowStream | None = None,
    cooks: ArrowStream | None = None,
    scores: ArrowStream | None = None,
    lock: str | os.PathLike[str] | None = None,
) -> Study:
    """Asks the measures: what goes with a long stall, what wraps go with, and each claim.

    ``claims`` is the path of a ``claims.toml``, a claim, or a list of claims. Claims of wrap timing need
    ``history``, and ``degrees`` to be answered as the command does (by weights alone without); with ``moved`` and
    ``moved_history`` claims are asked under moved constants too; ``cooks`` (cards) and ``scores`` (a store's
    ``scores.parquet``) are for what judges said and what faster costs.

    ``lock`` is the path of a season's ``claims.lock``: with it, standings and levels are those that ``cookstudy
    study --lock`` gives. It is read and never written: only ``cookstudy run`` notes a claim as seen or takes a
    look. Without it nobody can tell whether a claim was there before the cooks, and every verdict is
    ``after-the-fact``. What `study.json` holds beside this, ``forecast_backtest`` and ``trials``, the command
    alone computes.

    Effects are in the unit of the claim's outcome, which ``unit`` names beside each.
    """
    if claims is None or isinstance(claims, (str, os.PathLike)):
        written = _written(claims, "claims")
    elif isinstance(claims, Mapping):
        written = _written(claims if "claim" in claims else {"claim": [claims]}, "claims")
    elif isinstance(claims, Sequence) and all(isinstance(claim, Mapping) for claim in claims):
        written = _written({"claim": list(claims)}, "claims")
    else:
        raise SettingsError("claims: give the path of a claims.toml, or a list of claims, each a mapping")
    text, tables = _cookstudy.study(
        measures,
        history,
        degrees,
        moved,
        moved_history,
        cooks,
        scores,
        written,
        None if lock is None else _written(_path(lock, "lock"), "lock"),
        _written(settings, "settings"),
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

    ``past`` are readings, cooks and events of past cooks (events may be ``None``), ``at`` is the moment asked
    about, with a time zone (without one, each cook's last reading), ``level`` that of the ranges in per cent (50 to
    99). ``bundled`` lets simulated cooks stand in while there are few of one's own. A cook without an answer says
    why in ``reason``.

    ``finish_at``, ``finish_at_lo80`` and ``finish_at_hi80`` are instants UTC to the minute (80 is the level);
    ``alike`` counts past cooks. A core temperature is forecast, neither tenderness nor that food is fit to eat.
    """
    if not isinstance(level, int) or isinstance(level, bool) or not 50 <= level <= 99:
        raise ArgumentError(f"level: {level!r} is no whole number from 50 to 99 (per cent)")
    if at is not None and not isinstance(at, datetime):
        raise ArgumentError(f"at: {at!r} is no datetime")
    if at is not None and at.utcoffset() is None:
        raise ArgumentError(f"at: {at} has no time zone, so that it may be any clock's")
    before, known = None, None
    if past is not None:
        if not isinstance(past, (tuple, list)) or len(past) != 3:
            raise ArgumentError("past: give three tables: readings, cooks, and events or None")
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


def simulate(fires: int, seed: int = 1, *, first: int = 0) -> Simulated:
    """Cooks by a physical model, to try things on: so many fires of a team, one a week from 1970 on.

    The same ``seed`` (0 or more) gives the same cooks; ``first`` is the fire to begin with, so that many can be
    made in parts. A fire has one cook or more. What is realistic in them and what is not stands in
    ``docs/simulator.md`` of the project: no answer about real meat follows from them.
    """
    for name, value, least in [("fires", fires, 0), ("seed", seed, 0), ("first", first, 0)]:
        if not isinstance(value, int) or isinstance(value, bool) or not least <= value < 1 << 31:
            raise ArgumentError(f"{name}: {value!r} is no count")
    return Simulated(**dict(_cookstudy.simulate(fires, seed, first)))
