"""Logs into Parquet: `cookstudy ingest` beside polars and DuckDB, on the same files.

    python3 -m venv venv && venv/bin/pip install -r benches/peers/requirements.txt
    cargo build --release && cargo build
    venv/bin/python benches/peers/ingest.py \\
        --command release=target/release/cookstudy --command dev=target/debug/cookstudy

Writes 400 logs of 9,000 lines and four channels (about 150 MB), and a quarter of them, and
has each program turn each log into one Parquet file of a row a reading. The programs take
turns, every run is a process of its own with an empty folder to write to, and its peak memory
is what the system counted for it. Prints the median of the runs and, for `cookstudy`, seconds
against those of polars.

What they do is not the same: the peers read times and numbers of a known layout and write
them; `cookstudy` finds the layout, the units and the roles, checks and accounts for every
line, hashes every file, and syncs what it writes.
"""

import argparse
import os
import platform
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import datetime, timedelta, timezone
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

CHANNELS = ("Pit (C)", "Flat (C)", "Point (C)", "Outside (C)")
SECONDS_A_LINE = 5


def write_logs(folder: Path, logs: int, lines: int) -> int:
    """Invented cooks: meat that warms towards a pit that ripples. Returns bytes."""
    (folder / "logs").mkdir(parents=True)
    sheet = ["cook,date,logs,pit,meat_on"]
    total = 0
    for log in range(logs):
        draw = random.Random(log)
        start = datetime(2026, 1, 1, 6, tzinfo=timezone.utc) + timedelta(hours=20 * log)
        pit, flat, point, outside = 110.0, 5.0, 5.5, 12.0
        rows = ["time," + ",".join(CHANNELS)]
        for line in range(lines):
            at = start + timedelta(seconds=SECONDS_A_LINE * line)
            pit += 0.02 * (110.0 - pit) + draw.uniform(-0.6, 0.6)
            flat += (pit - flat) * 2.4e-4
            point += (pit - point) * 2.0e-4
            outside += draw.uniform(-0.05, 0.05)
            rows.append(f"{at:%Y-%m-%dT%H:%M:%SZ},{pit:.1f},{flat:.1f},{point:.1f},{outside:.1f}")
        text = "\n".join(rows) + "\n"
        total += len(text)
        (folder / "logs" / f"cook-{log:03}.csv").write_text(text)
        # Pits of their own: no two cooks are of one fire.
        sheet.append(f"cook-{log:03},{start:%Y-%m-%d},cook-{log:03}.csv,pit-{log},{start:%Y-%m-%dT%H:%M:%SZ}")
    (folder / "sheet.csv").write_text("\n".join(sheet) + "\n")
    return total


def with_polars(folder: Path, out: Path) -> None:
    import polars

    for log in sorted((folder / "logs").iterdir()):
        polars.scan_csv(log, try_parse_dates=True).unpivot(
            index="time", variable_name="channel", value_name="temp_c"
        ).sink_parquet(out / f"{log.stem}.parquet", compression="snappy")


def with_duckdb(folder: Path, out: Path) -> None:
    import duckdb

    database = duckdb.connect()
    for log in sorted((folder / "logs").iterdir()):
        database.execute(
            f"copy (unpivot (from read_csv('{log}')) on columns(* exclude time)"
            " into name channel value temp_c)"
            f" to '{out / log.stem}.parquet' (format parquet, compression snappy)"
        )


PEERS = {"polars": with_polars, "duckdb": with_duckdb}


class Measured(NamedTuple):
    """What one process took."""

    seconds: float
    # Of all processors together: on a busy machine the steadier figure.
    processor_seconds: float
    peak_mb: float


def measure(arguments: list[str]) -> Measured:
    begun = time.perf_counter()
    child = subprocess.Popen(arguments, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    said = child.stderr.read()
    _, status, usage = os.wait4(child.pid, 0)
    seconds = time.perf_counter() - begun
    if os.waitstatus_to_exitcode(status) != 0:
        raise SystemExit(f"{arguments[0]} failed:\n{said.decode()}")
    # Linux counts KiB, macOS bytes.
    unit = 1 if platform.system() == "Darwin" else 1024
    processor_seconds = usage.ru_utime + usage.ru_stime
    return Measured(seconds, processor_seconds, usage.ru_maxrss * unit / 1e6)


def run(name: str, program: str, folder: Path) -> Measured:
    with tempfile.TemporaryDirectory(dir=folder.parent) as out:
        if name in PEERS:
            arguments = [sys.executable, __file__, "--peer", name, str(folder), out]
        else:
            arguments = [program, "ingest", "--logs", f"{folder}/logs", "--tz", "UTC"]
            arguments += ["--sheet", f"{folder}/sheet.csv", "--store", f"{out}/store"]
        result = measure(arguments)
        written = len(list(Path(out).rglob("cook-*.parquet")))
        logs = len(list((folder / "logs").iterdir()))
        if written != logs:
            raise SystemExit(f"{name} wrote {written} files from {logs} logs")
        return result


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--command", action="append", default=[], metavar="NAME=PATH")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--logs", type=int, default=400)
    parser.add_argument("--lines", type=int, default=9000)
    parser.add_argument("--keep", metavar="DIR", help="where to write the logs, and leave them")
    parser.add_argument("--peer", nargs=3, help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.peer:
        name, folder, out = given.peer
        PEERS[name](Path(folder), Path(out))
        return
    commands = dict(pair.split("=", 1) for pair in given.command)
    versions = ", ".join(f"{name} {version(name)}" for name in PEERS)
    # As they come, also into a file.
    sys.stdout.reconfigure(line_buffering=True)
    print(f"{versions}, Python {platform.python_version()}, {os.cpu_count()} processors")
    place = Path(given.keep or tempfile.mkdtemp())
    try:
        for logs in (max(given.logs // 4, 1), given.logs):
            folder = place / str(logs)
            if not folder.is_dir():
                write_logs(folder, logs, given.lines)
            size = sum(path.stat().st_size for path in (folder / "logs").iterdir())
            results: dict[str, list[Measured]] = {}
            for turn in range(given.runs + 1):
                for name in [*PEERS, *commands]:
                    result = run(name, commands.get(name, ""), folder)
                    # The first turn brings files and programs into memory.
                    if turn > 0:
                        results.setdefault(name, []).append(result)
            channels = len(CHANNELS)
            print(f"\n{logs} logs × {given.lines} lines × {channels} channels, {size / 1e6:.0f} MB")
            middle = {
                name: Measured(*map(statistics.median, zip(*measured)))
                for name, measured in results.items()
            }
            base = middle["polars"]
            for name, own in middle.items():
                seconds = [measured.seconds for measured in results[name]]
                peak = max(measured.peak_mb for measured in results[name])
                print(
                    f"{name:>10}: {own.seconds:.2f} s ({min(seconds):.2f} to {max(seconds):.2f}),"
                    f" {own.seconds / base.seconds:.2f} of polars;"
                    f" processors {own.processor_seconds:.2f} s,"
                    f" {own.processor_seconds / base.processor_seconds:.2f} of polars;"
                    f" {size / own.seconds / 1e6:.0f} MB/s, peak {peak:.0f} MB"
                )
    finally:
        if not given.keep:
            shutil.rmtree(place)


if __name__ == "__main__":
    main()
