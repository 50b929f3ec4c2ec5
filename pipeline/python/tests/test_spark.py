"""Rows made on Spark against the store that the command wrote."""

import hashlib
import json
import os
import shutil
import subprocess
import sys

import pyarrow as pa
import pyarrow.compute
import pyarrow.parquet as pq
import pytest

pytest.importorskip("pyspark")
if shutil.which("java") is None:
    pytest.skip("Spark needs Java 17", allow_module_level=True)

os.environ["PYSPARK_PYTHON"] = sys.executable

from cookstudy import StoreError  # noqa: E402
from cookstudy import spark as on_spark  # noqa: E402
from pyspark.sql import SparkSession  # noqa: E402


@pytest.fixture(scope="session")
def session():
    # Two workers of their own, as on a cluster: what is not sent to them is not there.
    master = os.environ.get("COOKSTUDY_SPARK", "local-cluster[2,1,1024]")
    spark = (
        SparkSession.builder.master(master)
        .config("spark.ui.enabled", "false")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.sql.execution.arrow.maxRecordsPerBatch", "1000")
        # As many partitions as there are row groups.
        .config("spark.sql.files.maxPartitionBytes", "200000")
        .config("spark.sql.files.openCostInBytes", "0")
        .config("spark.executorEnv.PYTHONPATH", os.pathsep.join(p for p in sys.path if p))
        .getOrCreate()
    )
    yield spark
    spark.stop()


def in_order(table, cooks):
    place = {name: n for n, name in enumerate(cooks)}
    order = sorted(range(table.num_rows), key=lambda row: place[table.column("cook")[row].as_py()])
    return table.take(order)


@pytest.mark.parametrize("name", ["phases", "measures"])
def test_a_frame_is_the_store_s_table(session, store, settings, name):
    frame = getattr(on_spark, name)(session, store, settings)
    expected = pq.read_table(store / f"{name}.parquet", partitioning=None)
    cooks = pq.read_table(store / "cooks.parquet", partitioning=None).column("cook").to_pylist()
    found = in_order(frame.toArrow(), cooks)
    assert found.cast(expected.schema).equals(expected)


def without_rows(season, folder):
    """The season as it is after ingest: its stamps know of no rows, and none are there."""
    shutil.copytree(season, folder)
    stamps = folder / "store/stamps.json"
    stages = json.loads(stamps.read_text())["stages"]
    compact = json.dumps({"ingest": stages["ingest"]}, separators=(",", ":"), ensure_ascii=False)
    digest = hashlib.sha256(compact.encode()).hexdigest()
    stamps.write_text(json.dumps({"stages": {"ingest": stages["ingest"]}, "sha256": digest}))
    for name in on_spark.PHASES + on_spark.MEASURES:
        (folder / f"store/{name}.parquet").unlink()
    return folder / "store"


def test_written_files_have_the_bytes_of_the_command_and_its_stamps(session, season, store, settings, tmp_path):
    other = without_rows(season, tmp_path / "season")
    assert on_spark.write(session, other, settings)
    for name in on_spark.PHASES + on_spark.MEASURES:
        file = f"{name}.parquet"
        assert (other / file).read_bytes() == (store / file).read_bytes(), name
    told = [json.loads((folder / "stamps.json").read_text())["stages"] for folder in [other, store]]
    for stage in ["ingest", "phases", "measures"]:
        assert told[0][stage] == told[1][stage]
    assert not on_spark.write(session, tmp_path / "season", settings)
    command = os.environ.get("COOKSTUDY")
    if command:
        run = subprocess.run([command, "run", tmp_path / "season"], capture_output=True, text=True, check=True)
        assert "phases: up to date" in run.stderr and "measures: up to date" in run.stderr, run.stderr


def test_what_is_not_what_was_ingested_is_not_written(session, season, settings, tmp_path):
    other = without_rows(season, tmp_path / "season")
    packed = on_spark._Packed(session, other, settings, "all")
    found = [(name, packed.table(name)) for name in on_spark.PHASES + on_spark.MEASURES]
    with pytest.raises(StoreError, match="written anew while rows were made"):
        packed.of.write(str(other), found, {**packed.read, "events.parquet": "0"})
    readings = next((other / "readings").rglob("part-*.parquet"))
    readings.write_bytes(readings.read_bytes() + b"x")
    with pytest.raises(StoreError, match="is not what was written there") as raised:
        packed.of.write(str(other), found, packed.read)
    assert raised.value.file == str(readings)
    assert not (other / "phases.parquet").exists()


def test_a_bad_cook_fails_no_job(session, store, settings, tmp_path):
    other = tmp_path / "store"
    (other / "readings" / "season=2025").mkdir(parents=True)
    cooks = pq.read_table(store / "cooks.parquet", partitioning=None)
    pq.write_table(cooks, other / "cooks.parquet")
    shutil.copy(store / "events.parquet", other)
    readings = pq.read_table(store / "readings")
    readings = pa.table({name: readings.column(name) for name in on_spark.READ})
    bad = readings.column("cook")[0].as_py()
    is_bad = pa.compute.equal(readings.column("cook").cast(pa.string()), bad)
    mine = readings.filter(is_bad)
    backwards = mine.take(list(range(mine.num_rows))[::-1])
    rest = readings.filter(pa.compute.invert(is_bad))
    file = other / "readings" / "season=2025" / "part-00001.parquet"
    pq.write_table(pa.concat_tables([backwards, rest]), file)
    rows = on_spark.phases(session, other, settings).where(f"cook = '{bad}'").collect()
    assert [row["phase"] for row in rows] == ["unknown"]
    assert "do not rise in time" in rows[0]["not_judged_reason"]
