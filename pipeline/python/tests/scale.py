"""What a cook costs on Spark beside the same work without it.

    python scale.py COOKS FROM STORE

makes STORE of the cooks of the store FROM, each again with noise and a shift of its own until there are COOKS of
them, packed in files of 512; then segments it in one process on one thread, file by file, and on Spark with two
cores. The phases of both must be equal. Prints rows of the table in docs/scale.md; up to 5,000 cooks also what
either takes with all that it does, cooks that borrow included.
"""

import os
import sys
import time
from pathlib import Path

import cookstudy
import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq
from cookstudy import spark as on_spark

IN_A_FILE, IN_A_GROUP = 512, 128


def plain(table):
    """With texts in the place of dictionaries."""
    fields = [
        pa.field(f.name, pa.string() if pa.types.is_dictionary(f.type) else f.type) for f in table.schema
    ]
    return table.cast(pa.schema(fields))


def make(count, source, store):
    """A store of so many cooks, no two of the same curve."""
    cooks = pq.read_table(source / "cooks.parquet", partitioning=None)
    events = pq.read_table(source / "events.parquet", partitioning=None)
    readings = plain(pq.read_table(source / "readings").drop_columns(["season"]))
    of_cook = {}
    for name in cooks.column("cook").to_pylist():
        own = readings.filter(pc.equal(readings.column("cook"), name))
        if own.num_rows:
            of_cook[name] = own
    rows = [row for row in cooks.to_pylist() if row["cook"] in of_cook]
    noted = events.to_pylist()
    folder = store / "readings" / "season=made"
    folder.mkdir(parents=True)
    random = np.random.default_rng(1)
    cards, made_events, waiting = [], [], []
    groups, writer, files = 0, None, 0
    for number in range(count):
        row, again = rows[number % len(rows)], number // len(rows)
        name, fire = f"{row['cook']}-{again}", f"{row['fire']}-{again}"
        cards.append({**row, "cook": name, "fire": fire, "season": "made"})
        made_events += [{**event, "cook": name} for event in noted if event["cook"] == row["cook"]]
        own = of_cook[row["cook"]]
        noise = random.normal(random.normal(0, 0.3), 0.1, own.num_rows).astype("float32")
        temp_c = pa.array(own.column("temp_c").to_numpy() + noise, pa.float32())
        own = own.set_column(own.schema.get_field_index("temp_c"), "temp_c", temp_c)
        names = pa.array([name] * own.num_rows)
        waiting.append(own.set_column(own.schema.get_field_index("cook"), "cook", names))
        if len(waiting) == IN_A_GROUP or number + 1 == count:
            group = pa.concat_tables(waiting)
            if writer is None:
                files += 1
                writer = pq.ParquetWriter(folder / f"part-{files:05}.parquet", group.schema)
            writer.write_table(group, row_group_size=group.num_rows)
            waiting, groups = [], groups + 1
            if groups % (IN_A_FILE // IN_A_GROUP) == 0:
                writer.close()
                writer = None
    if writer is not None:
        writer.close()
    pq.write_table(pa.Table.from_pylist(cards, cooks.schema), store / "cooks.parquet")
    pq.write_table(pa.Table.from_pylist(made_events, events.schema), store / "events.parquet")


def parts(store):
    """Batches of readings, file by file: as much as is in memory at once."""
    for file in sorted((store / "readings").rglob("part-*.parquet")):
        yield pq.read_table(file, columns=on_spark.READ, partitioning=None).to_batches()


def bare(store, season):
    """Phases without Spark, in this process on one thread; and CPU seconds that they took."""
    found, cpu = [], 0.0
    for batches in parts(store):
        began = time.process_time()
        found.append(on_spark.rows_of_batches(batches, season, "phases")["phases"])
        cpu += time.process_time() - began
    return pa.concat_tables(found), cpu


def workers(session, store, season):
    """The same in Spark's Python workers; and CPU seconds that those took."""
    given = session.read.parquet(f"{store}/readings").select(*on_spark.READ)

    def counted(batches):
        began = time.process_time()
        rows = on_spark.rows_of_batches(batches, season, "phases")
        used = time.process_time() - began
        if rows:
            packed = on_spark._bytes(rows["phases"])
            yield pa.RecordBatch.from_pydict({"cpu_s": [used], "phases": [packed]})

    told = given.mapInArrow(counted, "cpu_s double, phases binary").toArrow()
    found = [on_spark._table(packed.as_py()) for packed in told.column("phases")]
    return pa.concat_tables(found), sum(told.column("cpu_s").to_pylist()), told.num_rows


def in_order(phases, cooks):
    place = {name: n for n, name in enumerate(cooks.column("cook").to_pylist())}
    names = phases.column("cook").to_pylist()
    return phases.take(sorted(range(len(names)), key=lambda row: place[names[row]]))


def whole(session, store, cooks, events, count):
    """Both with borrowing, as one would call them; wall clock."""
    began = time.perf_counter()
    readings = pa.concat_tables(pa.Table.from_batches(batches) for batches in parts(store))
    expected = pa.table(cookstudy.segment(readings, cooks, events).phases)
    print(f"| {count} | one process, all cores, with borrowing | {time.perf_counter() - began:.0f} s | | |", flush=True)
    began = time.perf_counter()
    found = on_spark.phases(session, store).toArrow()
    print(f"| {count} | Spark, two cores, with borrowing | {time.perf_counter() - began:.0f} s | | |", flush=True)
    assert in_order(found, cooks).cast(expected.schema).equals(expected)


def main():
    count, source, store = int(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3])
    if not (store / "cooks.parquet").exists():
        make(count, source, store)
    cooks, events = (pq.read_table(store / f"{name}.parquet", partitioning=None) for name in ["cooks", "events"])
    files = list(store.rglob("part-*.parquet"))
    size = sum(file.stat().st_size for file in files)
    per_cook = sum(pq.ParquetFile(file).metadata.num_rows for file in files) / count

    # Nobody borrows here, so that both do the same once.
    season = on_spark.Season(cooks, events, None)
    season.parsed()
    began = time.perf_counter()
    expected, cpu = bare(store, season)
    wall = time.perf_counter() - began
    print(f"| {count} | one process, one thread | {wall:.0f} s | {1000 * cpu / count:.1f} ms | |", flush=True)

    from pyspark.sql import SparkSession

    session = (
        SparkSession.builder.master("local[2]")
        .config("spark.ui.enabled", "false")
        .config("spark.driver.memory", "3g")
        .config("spark.sql.session.timeZone", "UTC")
        .getOrCreate()
    )
    session.sparkContext.setLogLevel("ERROR")
    began = time.perf_counter()
    found, used, tasks = workers(session, store, season)
    wall = time.perf_counter() - began
    over = 100 * (used / cpu - 1)
    print(
        f"| {count} | Spark's workers, {tasks} partitions | {wall:.0f} s | {1000 * used / count:.1f} ms | {over:+.0f} % |",
        flush=True,
    )
    assert in_order(found, cooks).equals(in_order(expected, cooks))
    print(f"{per_cook:.0f} readings and {size / count / 1000:.0f} kB a cook; phases equal", flush=True)
    if count <= 5000:
        whole(session, store, cooks, events, count)
    session.stop()


if __name__ == "__main__":
    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    main()
