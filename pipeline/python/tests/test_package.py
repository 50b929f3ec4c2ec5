"""The package against the store that the command wrote, table for table and value for value."""

import os
import signal
import subprocess
import sys
import time

import cookstudy
import pyarrow as pa
import pyarrow.compute
import pyarrow.parquet as pq
import pytest

PHASES = ["phases", "flags", "channels", "warnings"]
MEASURES = ["measures", "history", "degrees", "moved", "moved_history"]


def stored(store, name):
    return pq.read_table(store / f"{name}.parquet", partitioning=None)


@pytest.fixture(scope="session")
def given(store):
    readings = pq.read_table(store / "readings")
    return readings, stored(store, "cooks"), stored(store, "events")


@pytest.fixture(scope="session")
def derived(given, settings):
    return cookstudy.derive(*given, settings)


@pytest.mark.parametrize("name", PHASES + MEASURES)
def test_all_tables_are_those_of_the_store(derived, store, name):
    found, expected = pa.table(getattr(derived, name)), stored(store, name)
    assert found.schema.names == expected.schema.names
    assert found.equals(expected)


def test_phases_and_then_measures_are_the_same(given, derived, settings):
    readings, cooks, events = given
    segmented = cookstudy.segment(readings, cooks, events, settings)
    measured = cookstudy.measure(readings, cooks, events, segmented.phases, settings, threads=1)
    for name in PHASES:
        assert pa.table(getattr(segmented, name)).equals(pa.table(getattr(derived, name))), name
    for name in MEASURES:
        assert pa.table(getattr(measured, name)).equals(pa.table(getattr(derived, name))), name


def test_a_cook_alone_borrows_what_its_season_lends(given, derived, settings):
    readings, cooks, events = given
    borrowed = pa.table(derived.phases).filter(pa.compute.field("k_ref_borrowed"))
    names = set(borrowed.column("cook").to_pylist())
    assert names, "the demo has a cook that borrows"
    lent = cookstudy.reference_coefficients(derived.phases, cooks)
    own = readings.filter(pa.compute.is_in(readings.column("cook").cast(pa.string()), pa.array(sorted(names))))
    found = pa.table(cookstudy.segment(own, cooks, events, settings, lent).phases)
    mask = pa.compute.is_in(pa.table(derived.phases).column("cook"), pa.array(sorted(names)))
    assert found.equals(pa.table(derived.phases).filter(mask))


def test_polars_duckdb_and_pandas_go_in_and_out(given, derived, settings):
    duckdb, polars = pytest.importorskip("duckdb"), pytest.importorskip("polars")
    readings, cooks, events = given
    expected = pa.table(derived.phases)
    cards = polars.DataFrame(cooks)
    found = cookstudy.segment(polars.DataFrame(readings), cards, polars.DataFrame(events), settings)
    assert pa.table(found.phases).equals(expected)
    assert polars.DataFrame(found.phases).height == expected.num_rows
    connection = duckdb.connect()
    connection.execute("SET TimeZone = 'UTC'")
    plain = readings.cast(pa.schema([field(f) for f in readings.schema]))
    connection.register("plain", plain)
    relation = connection.sql('select cook, channel, role, "at", temp_c, flag from plain')
    found = cookstudy.segment(relation, cooks, events, settings)
    assert pa.table(found.phases).equals(expected)
    assert connection.from_arrow(pa.table(found.phases)).shape[0] == expected.num_rows
    pytest.importorskip("pandas")
    found = cookstudy.segment(plain.to_pandas(), cooks, events, settings)
    assert pa.table(found.phases).equals(expected)


def field(of):
    is_word = pa.types.is_dictionary(of.type)
    return pa.field(of.name, pa.string() if is_word else of.type)


def test_the_cooks_of_a_part_that_cannot_be_used_are_rows_with_their_reasons(given, settings):
    on_spark = pytest.importorskip("cookstudy.spark")
    readings, cooks, events = given
    first = readings.column("cook")[0].as_py()
    columns = {n: readings.column(n) for n in on_spark.READ}
    mine = pa.table(columns).filter(pa.compute.equal(readings.column("cook").cast(pa.string()), first))
    backwards = mine.take(list(range(mine.num_rows))[::-1])
    season = on_spark.Season(cooks, events, settings)
    found = on_spark.rows_of_batches(backwards.to_batches(), season, "phases")["phases"].to_pylist()
    assert [row["phase"] for row in found] == ["unknown"]
    assert "do not rise in time" in found[0]["not_judged_reason"]


def test_tables_that_lack_something_say_what():
    with pytest.raises(cookstudy.TableError, match="readings: a list has no"):
        cookstudy.segment([], pa.table({"cook": ["a"]}))
    with pytest.raises(cookstudy.TableError, match="column `channel` is missing") as raised:
        cookstudy.segment(pa.table({"cook": ["a"]}), pa.table({"cook": ["a"]}))
    assert raised.value.column == "channel"
    with pytest.raises(cookstudy.SettingsError, match="stall_fracton"):
        empty = pa.table({"cook": pa.array([], pa.string())})
        cookstudy.segment(empty, empty, settings={"phases": {"stall_fracton": 0.3}})


LOG = "Time,Pit (F),Meat (F)\n" + "".join(
    f"2026-05-02T{6 + m // 60:02}:{m % 60:02}:00Z,{225 + m % 5},{40 + m // 4}\n" for m in range(600)
)


def test_a_log_is_read_with_its_evidence(tmp_path):
    path = tmp_path / "may.csv"
    path.write_text(LOG)
    log = cookstudy.read_log(path)
    readings = pa.table(log.readings)
    assert readings.num_rows == 1200
    assert set(readings.column("role").to_pylist()) == {"pit", "meat"}
    # 225 °F are 107.22 °C: (225 - 32) / 1.8.
    assert readings.column("temp_c")[0].as_py() == pytest.approx(107.2222, abs=1e-3)
    assert log.account["lines"] == 601
    found = cookstudy.inspect(path)
    assert "may.csv" in str(found) and len(found.evidence) > 2


def test_errors_have_file_line_and_question(tmp_path):
    path = tmp_path / "june.csv"
    path.write_text("Time,Pit,Meat\n" + "".join(f"05/06/2026 0{i}:00,107,{4 + i}\n" for i in range(1, 9)))
    with pytest.raises(cookstudy.LogError) as raised:
        cookstudy.read_log(path)
    assert raised.value.file.endswith("june.csv")
    assert isinstance(raised.value, cookstudy.NeedsAnswer)
    question = raised.value.question
    assert question["answers"] and question["asks"]
    with pytest.raises(cookstudy.LogError) as raised:
        cookstudy.read_log(tmp_path / "nowhere.csv")
    assert "nowhere.csv" in str(raised.value)


def test_the_study_says_what_the_command_says(store, season, settings):
    import json

    names = ["degrees", "moved", "moved_history", "cooks", "scores"]
    beside = {name: stored(store, name) for name in names if (store / f"{name}.parquet").exists()}
    given = stored(store, "measures"), stored(store, "history"), season / "claims.toml", settings
    found = cookstudy.study(*given, lock=season / "claims.lock", **beside)
    said = json.loads((season / "out/study.json").read_text())
    # Which files it rests on, and what forecasts and trials were worth, the command alone can tell.
    beyond = {"inputs", "forecast_backtest", "trials"}
    assert {key: found.json[key] for key in found.json.keys() - beyond} == {
        key: said[key] for key in said.keys() - beyond
    }
    assert {claim["standing"] for claim in said["claims"]} >= {"confirmed"}
    assert len(found.tables["claims"]) == len(said["claims"])
    # Nobody can tell without a lock.
    without = cookstudy.study(*given, **beside).json["claims"]
    assert {claim["standing"] for claim in without} == {"after-the-fact"}
    assert [claim["id"] for claim in without] == [claim["id"] for claim in said["claims"]]


def test_a_cook_cut_short_is_forecast_beside_its_past(given, settings):
    readings, cooks, events = given
    last = cooks.sort_by([("log_start_at", "descending")]).slice(0, 1).to_pylist()[0]
    at = readings.column("at")
    mine = pa.compute.equal(readings.column("cook").cast(pa.string()), last["cook"])
    when = last["log_start_at"] + (last["log_end_at"] - last["log_start_at"]) / 3
    now = readings.filter(pa.compute.and_(mine, pa.compute.less(at, pa.scalar(when, at.type))))
    found = cookstudy.forecast(now, cooks, events, settings, past=(readings, cooks, events))
    row = pa.table(found).to_pylist()[0]
    assert row["cook"] == last["cook"]
    assert row["reason"] is None, row
    assert row["finish_at_lo80"] < row["finish_at"] < row["finish_at_hi80"]
    assert row["finish_at"] > when


def test_simulated_cooks_follow_from_their_seed_and_fire():
    whole = cookstudy.simulate(4, 7)
    parts = [cookstudy.simulate(2, 7, first=first) for first in [0, 2]]
    for name in ["readings", "cooks", "events"]:
        tables = [pa.table(getattr(part, name)) for part in parts]
        if name == "readings":
            columns = ["cook", "channel", "at", "temp_c"]
            tables = [table.select(columns).cast(pa.schema([field(f) for f in table.select(columns).schema])) for table in tables]
            expected = pa.table(whole.readings).select(columns).cast(tables[0].schema)
        else:
            expected = pa.table(getattr(whole, name)).select(tables[0].column_names)
        assert pa.concat_tables(tables).equals(expected), name
    assert not pa.table(cookstudy.simulate(1, 8).readings).equals(pa.table(cookstudy.simulate(1, 7).readings))
    phases = pa.table(cookstudy.derive(whole.readings, whole.cooks, whole.events).phases)
    assert "stall" in phases.column("phase").to_pylist()
    for fires, seed in [(-1, 1), (1, -1), (1.5, 1), (1, None)]:
        with pytest.raises(cookstudy.ArgumentError):
            cookstudy.simulate(fires, seed)


INTERRUPTED = """
import os, sys, pyarrow.parquet as pq, cookstudy
store = sys.argv[1]
read = lambda name: pq.read_table(f"{store}/{name}.parquet", partitioning=None)
readings = pq.read_table(f"{store}/readings")
cooks, events = read("cooks"), read("events")
print("begin", flush=True)
try:
    for _ in range(200):
        cookstudy.derive(readings, cooks, events, threads=1)
except KeyboardInterrupt:
    print("interrupted", flush=True)
"""


def test_an_interrupt_ends_it(store):
    child = subprocess.Popen(
        [sys.executable, "-c", INTERRUPTED, str(store)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout.readline() == "begin\n"
    time.sleep(1)
    os.kill(child.pid, signal.SIGINT)
    assert child.communicate(timeout=120)[0] == "interrupted\n"
