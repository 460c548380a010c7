"""A power-cut explorer: it records what is asked of the disk, and builds every state a cut may legally leave.

The model is the weak one of POSIX: what was written to a file is certain only after its fsync, a name in a folder only
after the folder was synced. Until then any beginning of the pending writes of a file may have arrived (the last of them
torn, or its length without its content), and any part of the pending changes of names.
"""

import itertools
import os
import random
from dataclasses import dataclass, field

from rounds.history.disk import Disk

MOST_NAMES = 6


class RecordingDisk(Disk):
    """Does everything, and keeps a log of it; `left_out` names calls that are silently not done nor logged."""

    def __init__(self, root, left_out=()):
        self.root = root
        self.log = []
        self._left_out = left_out
        self._files = {}

    def acknowledge(self, ids):
        self.log.append(("acknowledged", tuple(ids)))

    def _name(self, path):
        return os.path.relpath(path, self.root)

    def open(self, path, flags):
        new = not path.exists()
        fd = super().open(path, flags)
        name = self._name(path)
        if new:
            self.log.append(("create", name))
        elif flags & os.O_TRUNC:
            self.log.append(("truncate", name, 0))
        self._files[fd] = name
        return fd

    def write(self, fd, data):
        end = os.fstat(fd).st_size
        place = os.lseek(fd, 0, os.SEEK_CUR)
        import fcntl

        if fcntl.fcntl(fd, fcntl.F_GETFL) & os.O_APPEND:
            place = end
        written = super().write(fd, data)
        self.log.append(("write", self._files[fd], place, bytes(data[:written])))
        return written

    def fsync(self, fd):
        name = self._files[fd]
        if not any(each(name) for each in self._left_out):
            self.log.append(("fsync", name))

    def ftruncate(self, fd, size):
        super().ftruncate(fd, size)
        self.log.append(("truncate", self._files[fd], size))

    def replace(self, source, target):
        super().replace(source, target)
        self.log.append(("replace", self._name(source), self._name(target)))

    def link(self, source, target):
        super().link(source, target)
        self.log.append(("link", self._name(source), self._name(target)))

    def unlink(self, path):
        super().unlink(path)
        self.log.append(("unlink", self._name(path)))

    def rmdir(self, path):
        super().rmdir(path)
        self.log.append(("unlink", self._name(path)))

    def mkdir(self, path):
        super().mkdir(path)
        self.log.append(("mkdir", self._name(path)))

    def sync_folder(self, path):
        name = self._name(path)
        if not any(each(name + "/") for each in self._left_out):
            self.log.append(("sync_folder", name))


@dataclass
class File:
    """Content that is certain, and what was asked since."""

    certain: bytes = b""
    pending: list = field(default_factory=list)

    def contents(self):
        """Every content a cut may leave."""
        states = [self.certain]
        for number, change in enumerate(self.pending):
            now = states[-1] if number == 0 else self.after(number)
            if change[0] == "write" and len(change[2]) > 1:
                half = (change[0], change[1], change[2][: len(change[2]) // 2])
                states.append(_changed(now, half))
                states.append(_changed(now, (change[0], change[1], bytes(len(change[2])))))
            states.append(_changed(now, change))
        return list(dict.fromkeys(states))

    def after(self, number):
        data = self.certain
        for change in self.pending[:number]:
            data = _changed(data, change)
        return data


def _changed(data, change):
    if change[0] == "truncate":
        return data[: change[1]]
    _, place, more = change
    return data[:place].ljust(place, b"\0") + more + data[place + len(more) :]


class Model:
    """What the disk was asked, up to some call."""

    def __init__(self, base=None):
        self.files = {}
        self.certain_names = {}
        self.pending_names = []
        self.names = {}
        for name, data in (base or {}).items():
            self.files[name] = File(data) if data is not None else None
            self.certain_names[name] = name
            self.names[name] = name
        self._count = 0

    def apply(self, step):
        kind, name, *rest = step
        if name.startswith(".."):
            return  # outside the folder that is looked at
        if kind in ("create", "mkdir"):
            self._count += 1
            inode = f"{name}#{self._count}"
            self.files[inode] = File() if kind == "create" else None
            self._change(("add", name, inode))
        elif kind in ("write", "truncate"):
            self.files[self.names[name]].pending.append((kind, *rest))
        elif kind == "fsync":
            file = self.files[self.names[name]]
            file.certain, file.pending = file.after(len(file.pending)), []
        elif kind == "replace":
            self._change(("move", name, rest[0], self.names[name]))
        elif kind == "link":
            self._change(("add", rest[0], self.names[name]))
        elif kind == "unlink":
            self._change(("remove", name))
        elif kind == "sync_folder":
            stay = []
            for change in self.pending_names:
                if _parent(change[1]) == ("" if name == "." else name):
                    _rename(self.certain_names, change)
                    if change[0] == "move":
                        stay = [(kind, _moved(each, *change[1:3]), *rest) for kind, each, *rest in stay]
                else:
                    stay.append(change)
            self.pending_names = stay

    def _change(self, change):
        _rename(self.names, change)
        self.pending_names.append(change)

    def states(self, numbers, most_per_cut):
        """Yield trees: a mapping of names to contents (None for a folder)."""
        number = len(self.pending_names)
        choices = itertools.product((False, True), repeat=number) if number <= MOST_NAMES else _some(number, numbers)
        unsure = {inode: file.contents() for inode, file in self.files.items() if file and file.pending}
        combined = list(itertools.product(choices, itertools.product(*unsure.values())))
        if len(combined) > most_per_cut:
            combined = [combined[0], combined[-1], *numbers.sample(combined, most_per_cut)]
        for chosen, contents in combined:
            names = dict(self.certain_names)
            for change, arrived in zip(self.pending_names, chosen, strict=True):
                if arrived:
                    _rename(names, change)
            now = dict(zip(unsure, contents, strict=True))
            yield self._tree(names, now)

    def _tree(self, names, now):
        tree = {}
        for name, inode in sorted(names.items()):
            parent = _parent(name)
            if parent and tree.get(parent, b"") is not None:
                continue  # its folder did not arrive
            file = self.files[inode]
            tree[name] = None if file is None else now.get(inode, file.certain)
        return tree


def _parent(name):
    return name.rpartition("/")[0]


def _some(number, numbers):
    yield (False,) * number
    yield (True,) * number
    for k in range(number):
        yield tuple(each < k for each in range(number))
        yield tuple(each == k for each in range(number))
        yield tuple(each != k for each in range(number))
    for _ in range(8):
        yield tuple(numbers.random() < 0.5 for _ in range(number))


def _rename(names, change):
    if change[0] == "add":
        names[change[1]] = change[2]
    elif change[0] == "remove":
        names.pop(change[1], None)
    else:
        _, source, target, inode = change
        if names.get(source) == inode:
            names.pop(source)
        names[target] = inode
        for inside in [each for each in names if each.startswith(source + "/")]:
            names[_moved(inside, source, target)] = names.pop(inside)


def _moved(name, source, target):
    """The name of what lies in a folder that was moved, or of anything else as it is."""
    return target + name[len(source) :] if name.startswith(source + "/") else name


def explore(log, base, visit, *, stop_at_first=False, most_per_cut=50, seed=1):
    """Visit every distinct state of the disk after every call; give how many there were and those that are bad.

    `visit(tree, acknowledged)` returns a sentence where the state is bad.
    """
    numbers = random.Random(seed)
    model, acknowledged = Model(base), set()
    seen, bad = set(), []
    for step in [("start",), *log]:
        if step[0] == "acknowledged":
            acknowledged |= set(step[1])
        elif step[0] != "start":
            model.apply(step)
        for tree in model.states(numbers, most_per_cut):
            mark = (len(acknowledged), hash(tuple(tree.items())))
            if mark not in seen:
                seen.add(mark)
                complaint = visit(tree, acknowledged)
                if complaint:
                    bad.append((step, complaint))
                    if stop_at_first:
                        return len(seen), bad
    return len(seen), bad


def tree_of(root):
    """Give what lies on the disk as a base for a model."""
    tree = {}
    for path in sorted(root.rglob("*")):
        tree[os.path.relpath(path, root)] = path.read_bytes() if path.is_file() else None
    return tree


def build(root, tree):
    root.mkdir(parents=True)
    for name, data in tree.items():
        if data is None:
            (root / name).mkdir(mode=0o700)
        else:
            (root / name).write_bytes(data)
