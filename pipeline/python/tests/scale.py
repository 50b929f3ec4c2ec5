"""What a cook costs on Spark beside the same work without it.

    python scale.py COOKS FROM STORE

makes STORE of the cooks of the store FROM, each again with noise and a shift of its own until there are COOKS of
them, packed in files of 512; then segments it in one process on one thread, and on Spark with two cores. The
phases of both must be equal. Prints rows of the table in docs/scale.md.
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


def main():
    count, source, store = int(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3])
    if not (store / "cooks.parquet").exists():
        make(count, source, store)
    cooks, events = (pq.read_table(store / f"{name}.parquet", partitioning=None) for name in ["cooks", "events"])
    size = sum(file.stat().st_size for file in store.rglob("part-*.parquet"))
    readings = plain(pq.read_table(store / "readings", columns=["cook", "channel", "role", "at", "temp_c", "flag"]))
    per_cook = readings.num_rows / count

    # Nobody borrows here, so that both do the same once.
    nothing = pa.table(
        {
            "cut": pa.array([], pa.string()),
            "pit": pa.array([], pa.string()),
            "median_per_h": pa.array([], pa.float64()),
            "spread_log": pa.array([], pa.float64()),
            "cooks": pa.array([], pa.int64()),
        }
    )
    began, wall = time.process_time(), time.perf_counter()
    cookstudy.segment(readings, cooks, events, references=nothing, threads=1)
    bare, wall = time.process_time() - began, time.perf_counter() - wall
    print(f"| {count} | one process, one thread | {wall:.0f} s | {1000 * bare / count:.1f} ms | |", flush=True)
    wall = time.perf_counter()
    expected = pa.table(cookstudy.segment(readings, cooks, events).phases)
    print(f"| {count} | one process, all cores, with borrowing | {time.perf_counter() - wall:.0f} s | | |", flush=True)
    del readings

    from cookstudy import spark as on_spark
    from pyspark.sql import SparkSession

    session = (
        SparkSession.builder.master("local[2]")
        .config("spark.ui.enabled", "false")
        .config("spark.driver.memory", "3g")
        .config("spark.sql.session.timeZone", "UTC")
        .getOrCreate()
    )
    session.sparkContext.setLogLevel("ERROR")
    given = session.read.parquet(f"{store}/readings").select(*on_spark.READ)
    season = on_spark.Season(cooks, events, None)

    def counted(batches):
        began = time.process_time()
        rows = on_spark.rows_of_batches(batches, season, "phases")
        names = rows["phases"].column("cook").unique() if rows else []
        used = time.process_time() - began
        yield pa.RecordBatch.from_pydict({"cpu_s": [used], "cooks": [len(names)]})

    told = given.mapInArrow(counted, "cpu_s double, cooks long").toArrow()
    cpu = sum(told.column("cpu_s").to_pylist())
    assert sum(told.column("cooks").to_pylist()) == count
    over = 100 * (cpu / bare - 1)
    print(f"| {count} | Spark's workers, {told.num_rows} partitions | | {1000 * cpu / count:.1f} ms | {over:+.0f} % |", flush=True)
    wall = time.perf_counter()
    found = on_spark.phases(session, store).toArrow()
    wall = time.perf_counter() - wall
    session.stop()
    place = {name: n for n, name in enumerate(cooks.column("cook").to_pylist())}
    names = found.column("cook").to_pylist()
    found = found.take(sorted(range(len(names)), key=lambda row: place[names[row]]))
    assert found.cast(expected.schema).equals(expected)
    print(f"| {count} | Spark, two cores, with borrowing | {wall:.0f} s | | |")
    print(f"{per_cook:.0f} readings and {size / count / 1000:.0f} kB a cook; phases equal")


if __name__ == "__main__":
    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    main()
