"""What a save, a start, a search and a merge cost after a day, a year, ten and a hundred years.

Yardsticks in the same run: a raw append and fsync of the same bytes, SQLite (synchronous FULL, write-ahead log), and
TinyDB with its own file storage. Thirty readings a day. It takes some minutes, most of them for TinyDB by itself.
"""

import json
import os
import sqlite3
import statistics
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta

import msgspec
import pytest
from tinydb import TinyDB, where

from rounds.history import Draft, History, merge, seeded_ids
from rounds.history.journal import sealed

pytestmark = pytest.mark.benchmark

NOW = datetime(2026, 5, 31, 12, 0, tzinfo=UTC)
A_DAY, A_MONTH, A_YEAR = 30, 30 * 30, 30 * 365
SPANS = {"1 day": A_DAY, "1 month": A_MONTH, "1 year": A_YEAR, "10 years": 10 * A_YEAR, "100 years": 100 * A_YEAR}
SAVES = 150


def draft(back, **more):
    """A reading measured some forty-eighths of an hour ago, of one of thirty items."""
    moment = NOW - timedelta(minutes=48 * back)
    item = ("ph", "ec", "t")[back % 3]
    moment = max(moment, datetime(1970, 1, 2, tzinfo=UTC))
    return Draft(
        kind="reading", station=f"station-{back % 10}", item=item, measured_at=moment,
        person="kim", meter="pen-1", typed="6,4", value=5.5 + back % 17 / 10, unit="pH", round_id="morning", **more,
    )  # fmt: skip


def shifted(back, records):
    """A century does not fit between 1970 and now: it is laid out from 2100 backwards."""
    if records <= 50 * A_YEAR:
        return draft(back)
    one = draft(back % A_YEAR)
    return msgspec.structs.replace(
        one, measured_at=one.measured_at.replace(year=2126 - back // A_YEAR, day=1 + back % 28)
    )


def now_for(records):
    return NOW if records <= 50 * A_YEAR else NOW.replace(year=2126)


def build(folder, records, device="bench"):
    clock = now_for(records)
    with History.open(folder, device=device, now=lambda: clock, ids=seeded_ids(records)) as history:
        for first in range(0, records, 5 * A_YEAR):
            some = range(first, min(first + 5 * A_YEAR, records))
            history.add_bulk((shifted(each, records) for each in some), entered=lambda each: each.measured_at)
    return folder


@pytest.fixture(scope="module")
def histories(tmp_path_factory):
    root = tmp_path_factory.mktemp("histories")
    return {name: build(root / name.replace(" ", "-"), records) for name, records in SPANS.items()}


def ms(seconds):
    return 1000 * statistics.median(seconds)


def timed(action):
    began = time.perf_counter()
    action()
    return time.perf_counter() - began


def raw_append(path, data):
    fd = os.open(path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o600)
    os.write(fd, data)
    os.fsync(fd)
    os.close(fd)


def save_medians(histories, tmp_path):
    """Save into all of them and into a raw file in turn, so that a busy moment strikes them alike."""
    raw = tmp_path / "raw.jsonl"
    opened = {
        name: History.open(folder, device="bench", now=lambda name=name: now_for(SPANS[name]))
        for name, folder in histories.items()
    }
    times = {name: [] for name in [*opened, "raw"]}
    try:
        for number in range(SAVES):
            for name, history in opened.items():
                one = msgspec.structs.replace(draft(0), measured_at=now_for(SPANS[name]))
                times[name].append(timed(lambda history=history, one=one: history.save(one)))
            line = sealed(msgspec.json.encode(history.latest("station-0", "ph")))
            if number == 0:
                raw_append(raw, line)
            times["raw"].append(timed(lambda line=line: raw_append(raw, line)))
    finally:
        for history in opened.values():
            history.close()
    return {name: ms(some) for name, some in times.items()}


def sqlite_of(path, records):
    base = sqlite3.connect(path, isolation_level=None)
    base.execute("pragma journal_mode = wal")
    base.execute("pragma synchronous = full")
    base.execute("create table records (id integer primary key, at text, station text, item text, body text)")
    base.execute("begin")
    base.executemany("insert into records (at, station, item, body) values (?, ?, ?, ?)", map(row, range(records)))
    base.execute("commit")
    base.execute("create index by_item on records (item, station, at)")
    base.execute("create index by_time on records (at)")
    return base


def row(back):
    one = draft(min(back, 50 * A_YEAR))
    return one.measured_at.isoformat(), one.station, one.item, msgspec.json.encode(one).decode()


def sqlite_figures(path, records):
    base = sqlite_of(path, records)
    insert = "insert into records (at, station, item, body) values (?, ?, ?, ?)"
    saves = [timed(lambda: base.execute(insert, row(0))) for _ in range(SAVES)]
    found = timed(
        lambda: [
            json.loads(each[0])
            for each in base.execute("select body from records where station = 'station-1' and item = 'ec'")
        ]
    )
    base.close()
    return ms(saves), 1000 * found


def tinydb_figures(path, records):
    docs = {str(each): msgspec.json.decode(row(each)[3]) for each in range(records)}
    path.write_text(json.dumps({"_default": docs}))
    with TinyDB(path) as base:
        doc = docs["0"]
        saves = [timed(lambda: base.insert(doc)) for _ in range(5 if records < 50 * A_YEAR else 1)]
        found = timed(lambda: base.search((where("station") == "station-1") & (where("item") == "ec")))
    return ms(saves), 1000 * found


FIRST_SCREEN = """
import sys, time, json
from datetime import datetime, timedelta
from pathlib import Path
def most_mb():
    return int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]) / 1024
began = time.perf_counter()
import textual.app, textual.widgets
from rounds.history import History
now = datetime.fromisoformat(sys.argv[2])
imported = time.perf_counter()
history = History.open(Path(sys.argv[1]), device="bench", now=lambda: now)
newest = history.latest_by_item()
today = history.records(since=now - timedelta(days=1))
shown = time.perf_counter()
first_mb = most_mb()
kind = history.records(station="station-1", item="ec")
searched = time.perf_counter()
print(json.dumps({
    "open_ms": 1000 * (shown - imported), "with_imports_ms": 1000 * (shown - began), "newest": len(newest),
    "today": len(today), "search_ms": 1000 * (searched - shown), "found": len(kind), "first_mb": first_mb,
    "most_mb": most_mb(),
}))
"""


def first_screens(histories, rounds=7):
    """Start a fresh process for each, in turn."""
    seen = {name: [] for name in histories}
    for _ in range(rounds):
        for name, folder in histories.items():
            words = [sys.executable, "-c", FIRST_SCREEN, str(folder), now_for(SPANS[name]).isoformat()]
            seen[name].append(json.loads(subprocess.run(words, capture_output=True, text=True, check=True).stdout))
    return {
        name: {key: statistics.median(each[key] for each in some) for key in some[0]} for name, some in seen.items()
    }


def test_the_table_of_saves_starts_and_searches(histories, tmp_path):
    saves = save_medians(histories, tmp_path)
    starts = first_screens(histories)
    lines = [f"{'':10} {'save':>8} {'/raw':>6} {'SQLite':>8} {'TinyDB':>9} | {'first screen':>12} {'+imports':>9} | "
             f"{'search':>8} {'SQLite':>8} {'TinyDB':>9} | {'MB':>5}"]  # fmt: skip
    for name, records in SPANS.items():
        sql, sql_search = sqlite_figures(tmp_path / f"{records}.sqlite", records)
        tiny, tiny_search = tinydb_figures(tmp_path / f"{records}.json", records)
        start = starts[name]
        lines.append(
            f"{name:10} {saves[name]:8.3f} {saves[name] / saves['raw']:6.2f} {sql:8.3f} {tiny:9.1f} | "
            f"{start['open_ms']:12.2f} {start['with_imports_ms']:9.1f} | "
            f"{start['search_ms']:8.1f} {sql_search:8.1f} {tiny_search:9.1f} | {start['most_mb']:5.0f}"
        )
    lines.append(
        f"raw append and fsync: {saves['raw']:.3f} ms; all in ms, medians; search: one kind of reading over all years"
    )
    print("\n" + "\n".join(lines))
    assert starts["10 years"]["newest"] == 30 and starts["10 years"]["today"] >= A_DAY
    assert starts["10 years"]["found"] > 3_000
    assert saves["10 years"] <= 1.3 * saves["1 day"]
    assert saves["100 years"] <= 2 * saves["1 day"]
    assert saves["10 years"] <= 2 * saves["raw"]
    assert starts["10 years"]["with_imports_ms"] <= 1.2 * starts["1 month"]["with_imports_ms"]
    assert starts["10 years"]["search_ms"] < 500
    assert starts["10 years"]["most_mb"] < 150


def cpu_ms(action, times=7):
    """Median processor time of one call. [ms]"""
    taken = []
    for _ in range(times):
        began = time.process_time()
        action()
        taken.append(time.process_time() - began)
    return ms(taken)


def test_one_series_of_ten_years_from_its_columns(histories, tmp_path):
    """Against the same search in SQLite, and against reading whole records; in processor time, in turn."""
    base = sqlite_of(tmp_path / "yardstick.sqlite", SPANS["10 years"])
    found = "select body from records where station = 'station-1' and item = 'ec'"
    with History.open(histories["10 years"], device="bench", now=lambda: NOW) as history:
        one = {"station": "station-1", "item": "ec"}
        first = cpu_ms(lambda: history.numbers(**one), times=1)
        columns = cpu_ms(lambda: history.numbers(**one))
        records = cpu_ms(lambda: history.records(**one), times=3)
        sql = cpu_ms(lambda: [json.loads(each[0]) for each in base.execute(found)])
        assert [each.value for each in history.numbers(**one)] == [each.value for each in history.records(**one)]
    size_mb = sum(each.stat().st_size for each in histories["10 years"].rglob("*.columns")) / 1e6
    base.close()
    print(
        f"\none series of 10 years, CPU: columns {columns:.1f} ms (made in {first:.0f} ms, once; {size_mb:.1f} MB), "
        f"whole records {records:.0f} ms, SQLite {sql:.1f} ms"
    )
    assert columns <= records / 8
    assert columns <= 1.5 * sql


def test_a_merge_of_100_000_records(tmp_path):
    build(tmp_path / "other", 100_000, device="stick")
    with History.open(tmp_path / "own", device="bench", now=lambda: NOW) as history:
        history.save(draft(0))
        began = time.perf_counter()
        shown = merge.preview(history, tmp_path / "other")
        seen = time.perf_counter()
        assert merge.apply(history, shown) == 100_000
        done = time.perf_counter()
        again = merge.preview(history, tmp_path / "other")
        assert (len(again.new), again.known) == (0, 100_000)
        print(f"\nmerge of 100,000: preview {seen - began:.2f} s, taking in {done - seen:.2f} s")
        assert done - began < 2


def test_a_start_without_the_summary(histories):
    folder = histories["10 years"]
    (folder / "bench" / "latest.summary").unlink()
    spent = timed(lambda: History.open(folder, device="bench", now=lambda: NOW).close())
    print(f"\n10 years without the summary: {spent:.2f} s, once")
