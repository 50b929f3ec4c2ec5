"""The rows of a store's cooks, made on an Apache Spark cluster.

Spark reads the packed readings and hands their batches to :class:`cookstudy` on its workers; nothing but
``mapInArrow`` is used of it. A first pass gives every cook its rows, as if nobody lent anything; what the cooks
lend each other follows from those, and a second pass does again the few that borrow. Cards and events of
all cooks go to every worker, so that no row depends on which cooks lie in which partition: those of a fire that
were parted know of each other all the same.

A cook that cannot be used is a row with its reason, never a failed job.

.. code-block:: python

    from cookstudy import spark as on_spark

    stalls = on_spark.phases(spark, "store").where("phase = 'stall'")

Workers need this package, pyarrow and PYSPARK_PYTHON set to the interpreter that has them.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pyarrow as pa
import pyarrow.parquet as pq
from pyarrow import fs

from . import Settings, _cookstudy, _written
from .errors import StoreError

if TYPE_CHECKING:
    from pyspark.sql import DataFrame, SparkSession

__all__ = ["Season", "measures", "phases", "rows_of_batches", "tables", "write"]

#: Columns of the readings that rows are made of.
READ = ["cook", "channel", "role", "at", "temp_c", "flag"]
#: Tables of a cook's rows, in the order of a store's stages.
PHASES = ("phases", "flags", "channels", "warnings")
MEASURES = ("measures", "history", "degrees", "moved", "moved_history")
#: What a partition gives: the rows of each of its tables as an Arrow stream.
_PACKED = "table string, rows binary"
_PACKED_SCHEMA = pa.schema([("table", pa.string()), ("rows", pa.binary())])


class Season:
    """Cards, events and settings of a season's cooks as bytes, which go to the workers."""

    def __init__(self, cooks: pa.Table, events: pa.Table, settings: Settings | None) -> None:
        self.cooks = _bytes(cooks)
        self.events = _bytes(events)
        self.settings = _written(settings, "settings")
        digest = hashlib.sha256(self.cooks + self.events + repr(self.settings).encode())
        self.key = digest.hexdigest()

    def parsed(self) -> _cookstudy.Cooks:
        """The same, parsed once a worker."""
        if _Parsed.key != self.key:
            cooks, events = _table(self.cooks), _table(self.events)
            _Parsed.cooks = _cookstudy.Cooks(cooks, events, self.settings)
            _Parsed.key = self.key
        assert _Parsed.cooks is not None
        return _Parsed.cooks


class _Parsed:
    """What this worker parsed last."""

    key: str | None = None
    cooks: _cookstudy.Cooks | None = None


def _bytes(table: pa.Table) -> bytes:
    sink = pa.BufferOutputStream()
    with pa.ipc.new_stream(sink, table.schema) as writer:
        writer.write_table(table)
    return bytes(sink.getvalue().to_pybytes())


def _table(data: bytes) -> pa.Table:
    return pa.ipc.open_stream(data).read_all()


def rows_of_batches(
    batches: Iterable[pa.RecordBatch],
    season: Season,
    asked: str = "all",
    references: bytes | None = None,
) -> dict[str, pa.Table]:
    """The rows of the cooks whose readings come, by table: batches in, batches out, whatever the engine.

    Without ``references`` nobody borrows, and a cook that would is ``unknown``.
    """
    batches = iter(batches)
    first = next(batches, None)
    if first is None:
        return {}

    def all_of() -> Iterator[pa.RecordBatch]:
        yield first
        yield from batches

    reader = pa.RecordBatchReader.from_batches(first.schema, all_of())
    lent = _NOTHING_LENT if references is None else _table(references)
    found = season.parsed().derive(reader, asked, None, lent, "coming", 1)
    return {name: pa.table(table) for name, table in found}


_NOTHING_LENT = pa.table(
    {
        "cut": pa.array([], pa.string()),
        "pit": pa.array([], pa.string()),
        "median_per_h": pa.array([], pa.float64()),
        "spread_log": pa.array([], pa.float64()),
        "cooks": pa.array([], pa.int64()),
    }
)


def _packing(
    season: Season, asked: str, references: bytes | None
) -> Callable[[Iterator[pa.RecordBatch]], Iterator[pa.RecordBatch]]:
    def pack(batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        found = rows_of_batches(batches, season, asked, references)
        for name, table in found.items():
            row = {"table": [name], "rows": [_bytes(table)]}
            yield pa.RecordBatch.from_pydict(row, schema=_PACKED_SCHEMA)

    return pack


def _unpacking(
    without: frozenset[str],
) -> Callable[[Iterator[pa.RecordBatch]], Iterator[pa.RecordBatch]]:
    def unpack(batches: Iterator[pa.RecordBatch]) -> Iterator[pa.RecordBatch]:
        for batch in batches:
            for data in batch.column("rows"):
                yield from _without(_table(data.as_py()), without).to_batches()

    return unpack


def _without(table: pa.Table, cooks: frozenset[str]) -> pa.Table:
    if not cooks:
        return table
    names = table.column("cook").to_pylist()
    return table.filter(pa.array([name not in cooks for name in names], pa.bool_()))


class _Packed:
    """The packed rows of a store's cooks: two passes, of which the second holds who borrows."""

    def __init__(
        self,
        spark: SparkSession,
        store: str | os.PathLike[str],
        settings: Settings | None,
        asked: str,
    ) -> None:
        from pyspark import StorageLevel
        from pyspark.sql.functions import broadcast

        self.spark = spark
        root = _root(store)
        #: Hashes of the tables that the rows are made of.
        self.read: dict[str, str] = {}
        self.cooks = self._noted(root, "cooks.parquet")
        season = Season(self.cooks, self._noted(root, "events.parquet"), settings)
        self.of = season.parsed()
        # Cooks without a log, and the schemas of all tables.
        nothing = pa.table({name: pa.array([], _EMPTY[name]) for name in READ})
        rest = self.of.derive(nothing, asked, None, _NOTHING_LENT, "without-log", 1)
        self.rest = {name: pa.table(table) for name, table in rest}
        readings = spark.read.parquet(f"{root}/readings").select(*READ)
        # What is packed is small beside the readings, and every table is unpacked from it.
        level = StorageLevel.MEMORY_AND_DISK
        first = readings.mapInArrow(_packing(season, asked, None), _PACKED).persist(level)
        own = self._collected(first, "phases", frozenset())
        lent = pa.table(self.of.references(own))
        self.borrowers = frozenset(self.of.borrowers(own, lent))
        names = set(own.column("cook").to_pylist())
        missing = [name for name in self.of.with_log if name not in names]
        if missing:
            some = ", ".join(missing[:6])
            raise StoreError(
                f"{root}: no readings of {len(missing)} cooks that have a log ({some}); run `cookstudy ingest` again",
                file=root,
            )
        self.first, self.second = first, None
        if self.borrowers:
            who = spark.createDataFrame([(name,) for name in sorted(self.borrowers)], "cook string")
            few = readings.join(broadcast(who), "cook", "left_semi")
            pack = _packing(season, asked, _bytes(lent))
            self.second = few.mapInArrow(pack, _PACKED).persist(level)

    def _noted(self, root: str, name: str) -> pa.Table:
        data = _read(f"{root}/{name}")
        self.read[name] = hashlib.sha256(data).hexdigest()
        return pq.read_table(pa.BufferReader(data))

    def _collected(self, packed: DataFrame, name: str, without: frozenset[str]) -> pa.Table:
        rows = packed.where(f"table = '{name}'").select("rows").toLocalIterator()
        tables = [_without(_table(bytes(row[0])), without) for row in rows]
        return pa.concat_tables(tables) if tables else self.rest[name]

    def frame(self, name: str) -> DataFrame:
        """A table as a DataFrame."""
        from pyspark.sql.pandas.types import from_arrow_schema

        rest = self.rest[name]
        schema = from_arrow_schema(rest.schema)
        parts = [self.first.where(f"table = '{name}'").mapInArrow(_unpacking(self.borrowers), schema)]
        if self.second is not None:
            packed = self.second.where(f"table = '{name}'")
            parts.append(packed.mapInArrow(_unpacking(frozenset()), schema))
        if rest.num_rows:
            packed = self.spark.createDataFrame([(name, _bytes(rest))], _PACKED)
            parts.append(packed.mapInArrow(_unpacking(frozenset()), schema))
        frame = parts[0]
        for part in parts[1:]:
            frame = frame.unionAll(part)
        return frame

    def table(self, name: str) -> pa.Table:
        """A table on this machine."""
        parts = [self._collected(self.first, name, self.borrowers)]
        if self.second is not None:
            parts.append(self._collected(self.second, name, frozenset()))
        return pa.concat_tables([*parts, self.rest[name]])


#: Types of the columns that are read, where no reading tells them.
_EMPTY = {
    "cook": pa.string(),
    "channel": pa.string(),
    "role": pa.string(),
    "at": pa.timestamp("us", "UTC"),
    "temp_c": pa.float32(),
    "flag": pa.string(),
}


def _root(store: str | os.PathLike[str]) -> str:
    """The store's folder; that in a season's folder, where one is named."""
    root = os.fspath(store).rstrip("/")
    within = f"{root}/store"
    if os.path.exists(f"{within}/cooks.parquet") and not os.path.exists(f"{root}/cooks.parquet"):
        return within
    return root


def _read(path: str) -> bytes:
    try:
        if "://" in path:
            system, inside = fs.FileSystem.from_uri(path)
            with system.open_input_file(inside) as file:
                return bytes(file.read())
        return Path(path).read_bytes()
    except FileNotFoundError as error:
        raise StoreError(f"{path}: not there; make it with `cookstudy ingest`", file=path) from error


def tables(
    spark: SparkSession, store: str | os.PathLike[str], settings: Settings | None = None
) -> dict[str, DataFrame]:
    """All tables of a cook's rows, by their names in a store; each cook is cleaned once for all of them."""
    packed = _Packed(spark, store, settings, "all")
    return {name: packed.frame(name) for name in PHASES + MEASURES}


def phases(
    spark: SparkSession, store: str | os.PathLike[str], settings: Settings | None = None
) -> DataFrame:
    """The phases of a store's cooks, as ``cookstudy phases`` finds them, in no order.

    ``store`` is a folder that driver and workers reach; ``settings`` are those of its season.
    """
    return _Packed(spark, store, settings, "phases").frame("phases")


def measures(
    spark: SparkSession, store: str | os.PathLike[str], settings: Settings | None = None
) -> DataFrame:
    """The measures of a store's cooks, as ``cookstudy measures`` makes them, in no order: a row a cook."""
    return _Packed(spark, store, settings, "all").frame("measures")


def write(
    spark: SparkSession, store: str | os.PathLike[str], settings: Settings | None = None
) -> bool:
    """Makes all tables of a store's cooks on Spark and writes them into the store.

    The files, stamps included, have the bytes that ``cookstudy phases`` and ``cookstudy measures`` would have
    written, so that a following ``cookstudy run`` with the same settings leaves them as they are. They are
    gathered on the driver's machine, which must be able to hold them (some 20 kB a cook), and the store must be
    a folder of its own. Cooks, events or readings that are not what was ingested, or that were ingested anew
    meanwhile, are refused. True where a file changed.
    """
    packed = _Packed(spark, store, settings, "all")
    found = [(name, packed.table(name)) for name in PHASES + MEASURES]
    return packed.of.write(_root(store), found, packed.read)
