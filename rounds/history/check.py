"""Reading everything there is, twice, and saying what is not as it should be."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from rounds.history.disk import Disk
from rounds.history.files import survey
from rounds.history.gaps import Gap, read_known_gaps
from rounds.history.last_backup import LastBackup, last_backup
from rounds.history.places import history_folder
from rounds.history.quarantine import quarantined
from rounds.history.tally import Tally

MOST_TOLD = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckReport:
    """What `check` found."""

    records: int
    readings: int
    months: int
    gaps: tuple[Gap, ...]
    damaged: tuple[str, ...]
    odd: tuple[str, ...]
    """What is passed over, record by record; the lines themselves stay as they are."""
    quarantine: tuple[Path, ...]
    verified: bool
    """Whether journal and monthly file of every month agree, and every record could be read from both."""
    last_backup: LastBackup | None
    sentences: tuple[str, ...]

    @property
    def sound(self) -> bool:
        """Whether nothing is damaged, or missing without a repair having looked for it."""
        return self.verified and not self.damaged and not self.gaps

    def backup_age_days(self, now: datetime) -> float | None:
        """Age of the last good backup, or None where there was never one. [d]"""
        return None if self.last_backup is None else (now - self.last_backup.at).total_seconds() / 86_400


def check(place: Path, *, now: datetime | None = None, disk: Disk | None = None) -> CheckReport:
    """Read every file of a history, compare both copies, and count what is missing; nothing is changed, nothing fails.

    Parameters
    ----------
    place : Path
        A farm folder or a history folder.
    now : datetime, optional
        Time against which the age of the last backup is told.
    """
    folder, disk = history_folder(place), disk or Disk()
    seen, tally = survey(folder, disk), Tally()
    tally.damaged += seen.told
    for files in seen.months.values():
        tally.take(disk, files)
    missing, known = tally.gaps(), read_known_gaps(folder, disk)
    gaps = [gap for gap in missing if not gap.lies_in(known)]
    kept, backup = quarantined(folder), last_backup(folder)
    sentences = [_counted(tally.records, len(seen.months)), *tally.damaged, *_shortened(tally.odd)]
    sentences += [gap.sentence if gap in gaps else gap.known_sentence for gap in missing]
    sentences += [*tally.twice(), *_told_quarantine(folder, len(kept)), _told_backup(backup, now or datetime.now(UTC))]
    return CheckReport(
        records=tally.records,
        readings=tally.readings,
        months=len(seen.months),
        gaps=tuple(gaps),
        damaged=tuple(tally.damaged),
        odd=tuple(tally.odd),
        quarantine=tuple(kept),
        verified=not tally.damaged,
        last_backup=backup,
        sentences=tuple(sentences),
    )


def _shortened(odd: list[str]) -> list[str]:
    more = len(odd) - MOST_TOLD
    return [*odd[:MOST_TOLD], f"{more} more are passed over: `rounds check --json` names each."] if more > 1 else odd


def _counted(records: int, months: int) -> str:
    return f"{records} record{'' if records == 1 else 's'} from {months} month{'' if months == 1 else 's'}."


def _told_quarantine(folder: Path, number: int) -> list[str]:
    return [f"{number} damaged pieces are kept in {folder / 'quarantine'}."] if number else []


def _told_backup(backup: LastBackup | None, now: datetime) -> str:
    if backup is None:
        return "There has been no backup yet."
    days = (now - backup.at).total_seconds() / 86_400
    age = "today" if days < 1 else f"{days:.0f} days ago"
    return f"The last good backup was made {age} ({backup.at:%Y-%m-%d %H:%M}), into {backup.to}."
