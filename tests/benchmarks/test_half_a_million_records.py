"""Fifty years at thirty readings a day: what a check and a merge of all of it take, each in a process of its own."""

import subprocess
import sys

import pytest

from rounds.history import Draft, History, seeded_ids
from tests.benchmarks.test_history_speed import A_YEAR, NOW, draft

pytestmark = pytest.mark.benchmark
RECORDS = 50 * A_YEAR
MOST_MB, LONGEST_S = 400.0, 6.0
CHILD = """
import resource, sys, time
from pathlib import Path
from rounds.history import History, merge
from rounds.history.check import check
what, farm, other = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
before = resource.getrusage(resource.RUSAGE_SELF)
if what == "check":
    count = check(farm).records
else:
    with History.open(farm, device="bench") as history:
        found = merge.preview(history, other)
        count = found.known + len(found.new)
        if what == "taken in":
            assert merge.apply(history, found) == count
        after = resource.getrusage(resource.RUSAGE_SELF)
used = resource.getrusage(resource.RUSAGE_SELF) if what == "check" else after
peak = next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(count, used.ru_utime + used.ru_stime - before.ru_utime - before.ru_stime, int(peak) / 1024)
"""


def laid_out(folder, device="stick"):
    """A history of half a million records."""
    with History.open(folder, device=device, now=lambda: NOW, ids=seeded_ids(7)) as history:
        for first in range(0, RECORDS, 5 * A_YEAR):
            drafts: list[Draft] = [draft(each) for each in range(first, first + 5 * A_YEAR)]
            history.add_bulk(drafts, entered=lambda each: each.measured_at)
    return folder


@pytest.fixture(scope="module")
def half_a_million(tmp_path_factory):
    return laid_out(tmp_path_factory.mktemp("half-a-million") / "history")


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the peak of the memory is told in another way")
@pytest.mark.parametrize("what", ["check", "known already", "seen", "taken in"])
def test_half_a_million_records_are_read_as_a_stream(half_a_million, tmp_path, what):
    farm = half_a_million if what in ("check", "known already") else tmp_path / "history"
    done = subprocess.run(
        [sys.executable, "-c", CHILD, what, farm, half_a_million], capture_output=True, text=True, check=True
    )
    count, seconds, megabytes = done.stdout.split()
    print(f"\n{what}: {count} records, {float(seconds):.1f} s of processor, at most {float(megabytes):.0f} MB")
    assert int(count) == RECORDS
    assert float(megabytes) < MOST_MB
    assert what in ("seen", "taken in") or float(seconds) < LONGEST_S
