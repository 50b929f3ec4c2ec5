"""Tables as people have them: what can be read is, what cannot is refused by file, row and column."""

import datetime

import cookstudy
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq
import pytest

polars = pytest.importorskip("polars")


@pytest.fixture(scope="module")
def given(store):
    """Readings, cards and events of four cooks as polars frames."""
    tables = [pq.read_table(store / "readings")]
    tables += [pq.read_table(store / f"{name}.parquet", partitioning=None) for name in ["cooks", "events"]]
    names = pa.array(tables[1].column("cook").to_pylist()[:4])
    some = [t.filter(pc.is_in(t.column("cook").cast(pa.string()), names)) for t in tables]
    readings, cooks, events = (polars.DataFrame(table) for table in some)
    return readings.drop("season", "source", "line", "elapsed_ms"), cooks, events


@pytest.fixture(scope="module")
def expected(given):
    return pa.table(cookstudy.segment(*given).phases)


def categorical(frame):
    return frame.with_columns(polars.col("cook", "channel", "role", "flag").cast(polars.String).cast(polars.Categorical))


READABLE = {
    "categories": categorical,
    "an enumeration": lambda r: r.with_columns(
        polars.col("role").cast(polars.String).cast(polars.Enum(["pit", "meat", "ambient", "other"]))
    ),
    "another zone": lambda r: r.with_columns(polars.col("at").dt.convert_time_zone("America/Chicago")),
    "nanoseconds": lambda r: r.with_columns(polars.col("at").dt.cast_time_unit("ns")),
    "wide floats": lambda r: r.with_columns(polars.col("temp_c").cast(polars.Float64)),
    "rows without a temperature": lambda r: polars.concat(
        [r, r.tail(1).with_columns(temp_c=polars.lit(None, dtype=polars.Float32))]
    ),
}


@pytest.mark.parametrize("name", READABLE)
def test_readings_of_other_types_are_the_same(given, expected, name):
    readings, cooks, events = given
    assert pa.table(cookstudy.segment(READABLE[name](readings), cooks, events).phases).equals(expected)


def test_whole_degrees_and_decimals_are_read(given):
    readings, cooks, events = given
    whole = readings.with_columns(polars.col("temp_c").round().cast(polars.Int16))
    tenths = readings.with_columns(polars.col("temp_c").cast(polars.Decimal(10, 1)))
    for frame in [whole, tenths]:
        phases = pa.table(cookstudy.segment(frame, cooks, events).phases)
        assert "stall" in phases.column("phase").to_pylist()
    duckdb = pytest.importorskip("duckdb")
    card = duckdb.sql(f"select '{cooks['cook'][0]}' as cook, 5.4 as trimmed_weight_kg")
    measures = pa.table(cookstudy.derive(readings, card).measures).to_pylist()
    assert measures[0]["trimmed_weight_kg"] == 5.4


@pytest.mark.parametrize("change", [lambda r: r.head(0), lambda r: categorical(r).head(0)])
def test_empty_tables_give_empty_tables(given, change):
    readings, cooks, events = given
    found = cookstudy.derive(change(readings), cooks, events)
    assert len(found.phases) == 0 and len(found.measures) == cooks.height
    assert len(cookstudy.forecast(change(readings), cooks, events)) == 0
    assert len(cookstudy.forecast(categorical(readings), cooks, events)) == cooks.height


def replaced(column, value):
    return lambda frame: frame.with_columns(polars.lit(value).alias(column))


CARD = {
    "a negative weight": (replaced("trimmed_weight_kg", -5.0), "-5 kg is no trimmed weight", "trimmed_weight_kg", 1),
    "an endless weight": (replaced("trimmed_weight_kg", float("inf")), "infinite", "trimmed_weight_kg", 1),
    "pounds": (replaced("trimmed_weight_lb", 12.0), "a table has `trimmed_weight_kg`", "trimmed_weight_lb", None),
    "a clock time": (replaced("meat_on", "20:30"), "a table has `meat_on_at`", "meat_on", None),
    "a text for an instant": (replaced("meat_on_at", "20:30"), "is text, not instants", "meat_on_at", None),
    "no zone": (replaced("meat_on_at", datetime.datetime(2026, 5, 1)), "no time zone", "meat_on_at", None),
    "an unknown word": (replaced("kind", "Comp"), "none of practice, contest", "kind", 1),
    "a date of another kind": (replaced("date", "05/02/2026"), "is no date", "date", 1),
    "capitals": (lambda c: c.rename({"cut": "Cut"}), "is called `cut` here", "Cut", None),
    "no name": (replaced("cook", ""), "names no cook", "cook", 1),
    "a cook twice": (lambda c: polars.concat([c, c]), "is there twice", "cook", 5),
    "no cook": (lambda c: c.rename({"cook": "name"}), "is missing", "cook", None),
    "a list": (replaced("tags", [1, 2]), "only numbers, text, yes/no and times", "tags", None),
    "a number beyond": (
        lambda c: c.with_columns(polars.lit(2**64 - 1, dtype=polars.UInt64).alias("id")),
        "beyond 64 bits",
        "id",
        1,
    ),
    "off before on": (
        lambda c: c.with_columns((polars.col("meat_on_at") - polars.duration(hours=3)).alias("pull_at")),
        "lies before `meat_on_at`",
        "pull_at",
        1,
    ),
}


@pytest.mark.parametrize("name", CARD)
def test_a_card_that_cannot_be_is_refused(given, name):
    change, said, column, row = CARD[name]
    readings, cooks, events = given
    for function in [cookstudy.segment, cookstudy.derive, cookstudy.forecast]:
        with pytest.raises(cookstudy.TableError, match=said) as raised:
            function(readings, change(cooks), events)
        assert str(raised.value).startswith(f"cooks: column `{column}`")
        assert (raised.value.column, raised.value.line) == (column, row)


READINGS = {
    "interleaved": (lambda r: r.sort("at"), "do not lie together: sort by cook", "cook"),
    "backwards": (lambda r: r.reverse(), "do not rise in time", "at"),
    "an instant twice": (lambda r: polars.concat([r.head(1), r]), "one reading an instant", "at"),
    "Fahrenheit": (lambda r: r.with_columns(polars.col("temp_c") * 1.8 + 32), "which is usual as °F", "temp_c"),
    "a role that is none": (replaced("role", "food"), "`food` is no role", "role"),
    "no role": (lambda r: r.drop("role"), "is missing", "role"),
    "no zone": (lambda r: r.with_columns(polars.col("at").dt.replace_time_zone(None)), "no time zone", "at"),
    "text": (lambda r: r.with_columns(polars.col("at").cast(polars.String)), "is text, not instants", "at"),
    "no type": (replaced("temp_c", None), "has no type", "temp_c"),
    "a cook without a name": (
        lambda r: r.with_columns(polars.lit(None, dtype=polars.String).alias("cook")),
        "missing value",
        "cook",
    ),
}


@pytest.mark.parametrize("name", READINGS)
def test_readings_that_cannot_be_used_are_refused(given, expected, name):
    change, said, column = READINGS[name]
    readings, cooks, events = given
    bad = change(readings)
    for function in [
        lambda: cookstudy.segment(bad, cooks, events),
        lambda: cookstudy.measure(bad, cooks, events, expected),
        lambda: cookstudy.derive(bad, cooks, events),
        lambda: cookstudy.forecast(bad, cooks, events),
        lambda: cookstudy.forecast(readings, cooks, events, past=(bad, cooks, events)),
    ]:
        with pytest.raises(cookstudy.TableError, match=said) as raised:
            function()
        assert raised.value.column == column


def test_a_pit_as_hot_as_that_is_believed_where_its_card_says_so(given):
    readings, cooks, events = given
    hot = readings.with_columns(polars.col("temp_c") * 1.8 + 32)
    cookstudy.segment(hot, cooks.with_columns(pit_setpoint_c=polars.lit(230.0)), events)


def test_pandas_sends_indices_and_mixtures(given, expected):
    pandas = pytest.importorskip("pandas")
    readings, cooks, events = given
    plain = readings.with_columns(polars.col("cook", "channel", "role", "flag").cast(polars.String))
    frame = pandas.DataFrame({name: plain[name].to_list() for name in plain.columns})
    cards = pandas.DataFrame({"cook": cooks["cook"].to_list(), "trimmed_weight_kg": [5.0, None, 4.0, 3.0]})
    found = cookstudy.derive(frame, cards[cards.cook != "nobody"].sort_values("cook", ascending=False))
    measures = pa.table(found.measures)
    assert not any("index" in name for name in measures.column_names)
    assert sorted(measures.column("trimmed_weight_kg").to_pylist(), key=str) == [3.0, 4.0, 5.0, None]
    with pytest.raises(cookstudy.TableError, match="readings: Could not convert 'x'.*temp_c"):
        cookstudy.derive(frame.assign(temp_c=[1.0] * (len(frame) - 1) + ["x"]), cards)


@pytest.mark.parametrize(
    ("column", "value", "said"),
    [
        ("event", "flip", "`flip` is none of lit"),
        ("value", "hotter", "`hotter` is no value of `setpoint`"),
        ("at", None, "has a missing value|has no type"),
    ],
)
def test_events_that_cannot_be_are_refused(given, column, value, said):
    readings, cooks, events = given
    events = replaced("event", "setpoint")(replaced("value", "250F")(events))
    with pytest.raises(cookstudy.TableError, match=said) as raised:
        cookstudy.segment(readings, cooks, replaced(column, value)(events))
    assert raised.value.column == column


def test_a_sender_that_fails_is_an_exception_of_ours(given):
    readings, cooks, _ = given

    class Broken:
        def __init__(self, error):
            self.error = error

        def __arrow_c_stream__(self, requested_schema=None):
            raise self.error

    with pytest.raises(cookstudy.TableError, match="readings: boom") as raised:
        cookstudy.derive(Broken(RuntimeError("boom")), cooks)
    assert isinstance(raised.value.__cause__, RuntimeError)
    with pytest.raises(KeyboardInterrupt):
        cookstudy.derive(Broken(KeyboardInterrupt()), cooks)
    for nothing in [None, [], {"cook": ["a"]}, 3]:
        with pytest.raises(cookstudy.TableError, match="has no `__arrow_c_stream__`"):
            cookstudy.derive(readings, nothing)


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        (3, "neither a path nor a mapping"),
        ("[phases]\nstall_fraction = 0.4\n", "no path"),
        ({"phases": {"stall_fraction": float("nan")}}, "settings.phases.stall_fraction: nan"),
        ({"phases": {"stall_fraction": 7}}, "must lie between"),
        ({"phases": {"stall_fracton": 0.3}}, "did you mean|unknown field"),
        ({"phases": {"stall_fraction": object()}}, "cannot stand in TOML"),
        ("nowhere.toml", "No such file"),
    ],
)
def test_settings_that_cannot_be_are_refused(given, settings, said):
    with pytest.raises(cookstudy.SettingsError, match=said):
        cookstudy.segment(*given, settings)


def test_settings_that_are_no_text_have_a_file(given, tmp_path):
    path = tmp_path / "season.toml"
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(cookstudy.SettingsError, match="UTF-8") as raised:
        cookstudy.segment(*given, path)
    assert raised.value.file == str(path)
    path.write_text("team = \n")
    with pytest.raises(cookstudy.SettingsError) as raised:
        cookstudy.segment(*given, path)
    assert (raised.value.line, raised.value.file) == (1, str(path))


def test_arguments_that_cannot_be_are_refused(given, tmp_path):
    readings, cooks, events = given
    noon = datetime.datetime(2026, 5, 1, 12)
    for call in [
        lambda: cookstudy.derive(readings, cooks, threads=-1),
        lambda: cookstudy.derive(readings, cooks, threads="all"),
        lambda: cookstudy.forecast(readings, cooks, level=80.5),
        lambda: cookstudy.forecast(readings, cooks, level=100),
        lambda: cookstudy.forecast(readings, cooks, at="now"),
        lambda: cookstudy.forecast(readings, cooks, at=noon),
        lambda: cookstudy.forecast(readings, cooks, past=(readings, cooks)),
        lambda: cookstudy.inspect(None),
        lambda: cookstudy.inspect(b"may.csv"),
        lambda: cookstudy.read_log("may.csv", cook=3),
    ]:
        with pytest.raises(cookstudy.ArgumentError):
            call()
    for name in ["a.csv", "b.csv"]:
        (tmp_path / name).write_text("Time,Pit\n")
    for several in [tmp_path, tmp_path / "*.csv"]:
        with pytest.raises(cookstudy.LogError, match="2 logs are called so"):
            cookstudy.inspect(several)


def test_claims_that_cannot_be_are_refused(store):
    measures = pq.read_table(store / "measures.parquet", partitioning=None)
    for claims, said in [
        ([{"id": "a"}], "claims: missing field"),
        ({"id": "a"}, "claims: missing field"),
        (["a"], "each a mapping"),
        ("nowhere.toml", "No such file"),
    ]:
        with pytest.raises(cookstudy.SettingsError, match=said):
            cookstudy.study(measures, claims=claims)
    with pytest.raises(cookstudy.TableError, match="history: the table has no column `minute`"):
        cookstudy.study(measures, measures)
    twice = pa.concat_tables([measures, measures])
    with pytest.raises(cookstudy.TableError, match="twice") as raised:
        cookstudy.study(twice)
    assert raised.value.line == measures.num_rows + 1
