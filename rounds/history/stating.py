"""The one who states: adds to what this device says beside its records, and gives the farm its id."""

from collections.abc import Collection, Sequence
from pathlib import Path

from rounds.history.append import Appender
from rounds.history.disk import Disk, write_new
from rounds.history.farm_id import farm_ids, first_ids, id_from, id_line
from rounds.history.journal import sealed
from rounds.history.library import Library
from rounds.history.statements import STATEMENTS, read_statements, statements_in


class Stating:
    """Writes statements into the folder of one device; the lock is held while anything is written."""

    def __init__(self, own: Path, library: Library, disk: Disk, appender: Appender, farm_name: str) -> None:
        self.farm_name = farm_name
        """Of the farm that is given an id, where it has none; none is given without a name."""
        self._path = own / STATEMENTS
        self._library = library
        self._disk = disk
        self._appender = appender
        self._may_lack_id = False

    def note_written(self) -> None:
        """Something was saved: the farm may be new."""
        self._may_lack_id = bool(self.farm_name)

    def is_due(self) -> bool:
        """Whether the farm may lack an id."""
        return self._may_lack_id

    def state(self, bodies: Sequence[bytes], without: Collection[bytes] = ()) -> None:
        """Add statements, durably; what stands there already is not repeated.

        Parameters
        ----------
        without : collection of bytes
            What is stated no more: then all of it is written anew, whole or not at all.

        Raises
        ------
        OSError
            Where it could not be written.
        """
        there = self._disk.read(self._path) if self._path.exists() else b""
        known = dict.fromkeys(statements_in(there))
        more = [each for each in dict.fromkeys(bodies) if each not in known]
        if without:
            kept = [each for each in (*known, *more) if each not in without]
            write_new(self._disk, self._path, b"".join(map(sealed, kept)))
        elif more:
            close = b"\n" if there and not there.endswith(b"\n") else b""
            self._appender.append([(self._path, close + b"".join(map(sealed, more)))])

    def identify(self) -> None:
        """Give the farm its id where it has a name and no id. Raises as `state`."""
        folder = self._library.folder
        if self.farm_name and not (first_ids(folder) or farm_ids(read_statements(folder))):
            self.state([id_line(self._derived_id() or id_from("", self.farm_name))])
        self._may_lack_id = False

    def farm_ids(self) -> frozenset[str]:
        """Give the ids of the farm; where none is written, the one that its oldest record would give it."""
        stated = farm_ids(read_statements(self._library.folder))
        derived = self._derived_id() if self.farm_name and not stated else ""
        return stated or frozenset(filter(None, (derived,)))

    def _derived_id(self) -> str:
        """The id that the oldest record gives the farm, so that every copy of it gives the same; empty without one."""
        keys = self._library.months()
        first = (key for key in keys if key[1] == keys[-1][1])
        records = (each for key in first for each in self._library.month(key).values())
        oldest = min(records, key=lambda each: each.rank, default=None)
        return id_from(oldest.id, self.farm_name) if oldest is not None else ""
