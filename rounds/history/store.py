"""The history of a farm: what was written down stays, and is durable before `save` returns."""

import os
import secrets
import threading
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import TracebackType
from typing import Self

import msgspec

from rounds.errors import NotFound, NotSaved
from rounds.history.disk import Disk, make_folder, write_all
from rounds.history.effective import Replacements
from rounds.history.ids import IdSource, uuid7
from rounds.history.journal import opened, sealed
from rounds.history.record import FORMAT, Draft, Record, checked, month_of


def _now() -> datetime:
    return datetime.now(UTC).astimezone()


class History:
    """Everything written down on one farm, read from all its devices and written into the folder of one."""

    def __init__(self, folder: Path, device: str, now: Callable[[], datetime], ids: IdSource, read_only: bool) -> None:
        self.folder = folder
        self.device = device
        self.read_only = read_only
        self.recovered: tuple[str, ...] = ()
        self.warnings: tuple[str, ...] = ()
        self._now = now
        self._ids = ids
        self._disk = Disk()
        self._lock = threading.RLock()
        self._records: dict[str, Record] = {}
        self._replacements = Replacements()
        self._sizes: dict[Path, int] = {}
        self._seq = 0
        self._lamport = 0

    @classmethod
    def open(
        cls,
        folder: Path,
        *,
        device: str | None = None,
        now: Callable[[], datetime] = _now,
        read_only: bool = False,
        ids: IdSource = uuid7,
    ) -> Self:
        own = device or next((each.name for each in sorted(folder.glob("d-*")) if each.is_dir()), None)
        history = cls(folder, own or f"d-{secrets.token_hex(6)}", now, ids, read_only)
        history.refresh()
        return history

    def save(self, *drafts: Draft) -> tuple[Record, ...]:
        with self._lock:
            return self._append([checked(draft) for draft in drafts], None)

    def add_bulk(self, drafts: Iterable[Draft], *, entered: Callable[[Draft], datetime] | None = None) -> int:
        with self._lock:
            return len(self._append([checked(draft) for draft in drafts], entered))

    def replace(self, old_id: str, draft: Draft) -> Record:
        if self.get(old_id) is None:
            raise NotFound(f"There is no record {old_id} to replace.")
        return self.save(msgspec.structs.replace(draft, replaces=old_id))[0]

    def void(self, old_id: str, *, person: str, note: str | None = None) -> Record:
        old = self.get(old_id)
        if old is None:
            raise NotFound(f"There is no record {old_id} to take back.")
        draft = Draft(
            kind=old.kind,
            station=old.station,
            item=old.item,
            measured_at=old.measured_at,
            round_id=old.round_id,
            person=person,
            note=note,
            void=True,
        )
        return self.replace(old_id, draft)

    def records(
        self,
        *,
        since: datetime | None = None,
        until: datetime | None = None,
        station: str | None = None,
        item: str | None = None,
        kind: str | None = None,
        round_id: str | None = None,
        replaced: bool = False,
    ) -> list[Record]:
        with self._lock:
            found = [
                each
                for each in self._records.values()
                if (since is None or each.measured_at >= since)
                and (until is None or each.measured_at < until)
                and (station is None or each.station == station)
                and (item is None or each.item == item)
                and (kind is None or each.kind == kind)
                and (round_id is None or each.round_id == round_id)
                and (replaced or (not each.void and self._replacements.stands(each.id)))
            ]
        return sorted(found, key=lambda each: (each.measured_at, each.rank))

    def latest(
        self,
        station: str,
        item: str,
        *,
        kind: str | None = None,
        before: datetime | None = None,
        within_days: int = 400,
    ) -> Record | None:
        since = (before or self._now()) - timedelta(days=within_days)
        found = self.records(station=station, item=item, kind=kind, since=since, until=before)
        return found[-1] if found else None

    def latest_by_item(self, station: str | None = None, *, within_days: int = 400) -> dict[tuple[str, str], Record]:
        since = self._now() - timedelta(days=within_days)
        return {(each.station, each.item): each for each in self.records(station=station, since=since)}

    def get(self, id: str) -> Record | None:
        return self._records.get(id)

    def chain(self, id: str) -> list[Record]:
        return [self._records[each] for each in self._replacements.family(id) if each in self._records]

    def refresh(self) -> bool:
        with self._lock:
            before = len(self._records)
            for path in sorted(self.folder.glob("*/[0-9][0-9][0-9][0-9]/*.jsonl")):
                self._read_on(path)
            return len(self._records) > before

    def close(self) -> None:
        return None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _read_on(self, path: Path) -> None:
        start = self._sizes.get(path, 0)
        if path.stat().st_size <= start:
            return
        data = self._disk.read(path, start)
        whole = data[: data.rfind(b"\n") + 1]
        self._sizes[path] = start + len(whole)
        for line in whole.splitlines():
            body = opened(line)
            if body is not None:
                self._take_in(msgspec.json.decode(body, type=Record))

    def _take_in(self, record: Record) -> None:
        self._records[record.id] = record
        self._replacements.add_records([record])
        self._lamport = max(self._lamport, record.lamport)
        if record.device == self.device:
            self._seq = max(self._seq, record.seq)

    def _append(self, drafts: list[Draft], entered: Callable[[Draft], datetime] | None) -> tuple[Record, ...]:
        if self.read_only:
            raise NotSaved("The history is open for reading only, so nothing was saved.")
        self.refresh()
        records = tuple(self._number(draft, step, entered) for step, draft in enumerate(drafts, 1))
        by_month: dict[str, list[Record]] = {}
        for record in records:
            by_month.setdefault(month_of(record.measured_at), []).append(record)
        for month, some in by_month.items():
            self._append_month(month, b"".join(sealed(msgspec.json.encode(record)) for record in some))
        for record in records:
            self._take_in(record)
        return records

    def _number(self, draft: Draft, step: int, entered: Callable[[Draft], datetime] | None) -> Record:
        entered_at = entered(draft) if entered else self._now()
        return Record(
            id=self._ids(entered_at),
            format=FORMAT,
            device=self.device,
            seq=self._seq + step,
            lamport=self._lamport + step,
            entered_at=entered_at,
            **msgspec.structs.asdict(draft),
        )

    def _append_month(self, month: str, data: bytes) -> None:
        path = self.folder / self.device / month[:4] / f"{month}.jsonl"
        try:
            make_folder(self._disk, path.parent)
            new = not path.exists()
            fd = self._disk.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            try:
                write_all(self._disk, fd, data)
                self._disk.fsync(fd)
            finally:
                self._disk.close(fd)
            if new:
                self._disk.sync_folder(path.parent)
        except OSError as error:
            raise NotSaved(f"Nothing was saved: {error.strerror or error}.", "What was typed is still here.") from error
        self._sizes[path] = path.stat().st_size
