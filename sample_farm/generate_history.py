"""Four months of an invented farm, written the way a grower would have written them down.

The same seed, files and days give the same records. What really happens is in it: a pH that drifts up, a flow that
falls, a hot week, a day in bed, a wrong entry put right later, a storm, a hen lost, a helper for three days.

    python sample_farm/generate_history.py FOLDER [2026-11-25]
    python sample_farm/generate_history.py --renew

The first lays the farm out in a new FOLDER, its history ending the evening before the day given; the second writes the
history anew that is kept beside this file, after the farm's files, a checklist or the story have changed.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from sample_diary import Diary
from sample_notebook import DEVICE, entered

from rounds.checklist.load import load_checklists
from rounds.farm.load import load_farm
from rounds.history import History, seeded_ids
from rounds.history.disk import Disk, make_folder, write_new

ANCHOR = date(2026, 11, 25)
"""The morning to which the dates in the farm's files belong."""
SEED, DAYS = 20260728, 120
FILES = ("farm.toml", "feeds.toml", "shelf.toml")


@dataclass(frozen=True, slots=True, kw_only=True)
class Generated:
    """What was written, and what would be read the next morning."""

    records: int
    tomorrow: Mapping[str, str]
    """The quick line of each station where readings are due on the morning of `until`."""


def lay_out(folder: Path, *, until: date, source: Path | None = None) -> Generated:
    """Put a copy of the sample farm into a folder, all dates moved so that it opens on the morning of `until`."""
    make_folder(Disk(), folder)
    for name in FILES:
        text = ((source or Path(__file__).resolve().parent) / name).read_text(encoding="utf-8")
        write_new(Disk(), folder / name, _moved(text, until - ANCHOR).encode())
    return generate(folder, until=until)


def generate(folder: Path, *, until: date, days: int = DAYS, seed: int = SEED) -> Generated:
    """Write the history of the sample farm whose files lie in a folder.

    Parameters
    ----------
    folder : Path
        With farm.toml, feeds.toml and shelf.toml. Whatever its `history/` holds stays.
    until : date
        The history ends the evening before; the morning round of that day is due.
    """
    diary = Diary(load_farm(folder), load_checklists(folder), until, days, seed)
    for before in range(days, 0, -1):
        diary.live_through(before)
    with History.open(folder / "history", device=DEVICE, ids=seeded_ids(seed)) as history:
        written = history.add_bulk(diary.book.drafts, entered=entered)
    return Generated(records=written, tomorrow=diary.tomorrow())


def renew(home: Path) -> Generated:
    """Write the journals kept in `home` anew. The rest of a history is rebuilt from them when it is opened."""
    with tempfile.TemporaryDirectory() as scratch:
        made = lay_out(Path(scratch), until=ANCHOR, source=home)
        shutil.rmtree(home / "history", ignore_errors=True)
        for journal in sorted((Path(scratch) / "history").rglob("*.jsonl")):
            target = home / journal.relative_to(scratch)
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(journal, target)
    return made


def _moved(text: str, by: timedelta) -> str:
    return re.sub(r"\b20\d\d-\d\d-\d\d\b", lambda found: (date.fromisoformat(found[0]) + by).isoformat(), text)


def main(arguments: list[str]) -> None:
    """Lay the farm out and say what is to be typed the next morning."""
    if not arguments or (Path(arguments[0]) / "history").exists():
        sys.exit("usage: generate_history.py NEW_FOLDER [DAY] | --renew")
    until = date.fromisoformat(arguments[1]) if len(arguments) > 1 else ANCHOR
    own = arguments[0] == "--renew"
    made = renew(Path(__file__).resolve().parent) if own else lay_out(Path(arguments[0]), until=until)
    print(f"{made.records} records, ending the evening before {until}.")
    for station, line in made.tomorrow.items():
        print(f"{station:12}  {line}")


if __name__ == "__main__":
    main(sys.argv[1:])
