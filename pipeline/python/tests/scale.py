"""CPU seconds a cook: the bare segmenter, the package in one process, and Spark; tables must be equal.

    python scale.py COOKS STORE PROGRAMS

makes a store of simulated cooks with PROGRAMS/examples/packed_store where there is none.
"""

import os
import resource
import subprocess
import sys
import time
from pathlib import Path

import cookstudy
import pyarrow as pa
import pyarrow.parquet as pq


def cpu_s(who):
    used = resource.getrusage(who)
    return used.ru_utime + used.ru_stime


def timed(work):
    """What it gives, with wall and CPU seconds of this process and its children."""
    whose = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    before, began = [cpu_s(who) for who in whose], time.perf_counter()
    found = work()
    return found, time.perf_counter() - began, sum(cpu_s(who) for who in whose) - sum(before)


def main():
    cooks, store, programs = int(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3])
    if not (store / "cooks.parquet").exists():
        subprocess.run([programs / "examples/packed_store", store, str(cooks)], check=True)
    command = [programs / "cookstudy", "phases", "--store", store]
    _, wall, cpu = timed(lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL))
    bare = cpu
    print(f"| {cooks} | the command, `phases` | {wall:.0f} | {1000 * cpu / cooks:.1f} | |")
    expected = pq.read_table(store / "phases.parquet", partitioning=None)

    given = [pq.read_table(store / f"{name}.parquet", partitioning=None) for name in ["cooks", "events"]]
    readings = pq.read_table(store / "readings")
    found, wall, cpu = timed(lambda: cookstudy.segment(readings, *given, threads=1))
    assert pa.table(found.phases).equals(expected)
    over = 100 * (cpu / bare - 1)
    print(f"| {cooks} | the package, one thread | {wall:.0f} | {1000 * cpu / cooks:.1f} | {over:+.0f} % |")
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
    session.range(10).mapInArrow(lambda batches: batches, "id long").count()
    frame, wall, _ = timed(lambda: on_spark.phases(session, store).toArrow())
    place = {name: n for n, name in enumerate(given[0].column("cook").to_pylist())}
    names = frame.column("cook").to_pylist()
    frame = frame.take(sorted(range(len(names)), key=lambda row: place[names[row]]))
    assert frame.cast(expected.schema).equals(expected)
    session.stop()
    print(f"| {cooks} | Spark, two cores | {wall:.0f} | {2000 * wall / cooks:.1f} (cores × wall) | |")
    size = sum(file.stat().st_size for file in store.rglob("*.parquet"))
    print(f"| {cooks} | bytes a cook in the store | | {size / cooks / 1000:.0f} kB | |")


if __name__ == "__main__":
    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)
    main()
