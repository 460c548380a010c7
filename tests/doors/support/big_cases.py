"""What is too large to lie in a file: laid out in the folder of another device."""

from __future__ import annotations

import os
import socket
import zipfile
from collections.abc import Callable
from pathlib import Path

from rounds.history.journal import HEAD, sealed

CASES = Path(__file__).parent.parent / "cases"
MONTH = "2026-11"
GOOD = (CASES / "lines" / "number_is_a_text.json").read_bytes().replace(b'"x"', b"1")
Lay = Callable[[Path], object]


def year_of(farm: Path, device: str = "d-x") -> Path:
    year = farm / "history" / device / "2026"
    year.mkdir(parents=True, exist_ok=True)
    return year


def journal(farm: Path, data: bytes, name: str = f"{MONTH}.jsonl", device: str = "d-x") -> Path:
    path = year_of(farm, device) / name
    path.write_bytes(data)
    return path


def line(more: bytes) -> bytes:
    return sealed(GOOD[:-1] + more + b"}")


def numbered(count: int, change: Callable[[bytes], bytes] = lambda body: body) -> bytes:
    def body(n: int) -> bytes:
        return change(GOOD.replace(b"000000000001", b"%012d" % n).replace(b'"seq":1', b'"seq":%d' % n))

    return b"".join(sealed(body(n)) for n in range(1, count + 1))


def in_the_way(make: Callable[[Path], object]) -> Lay:
    """Something of the name of a month that is no file."""
    return lambda farm: make(year_of(farm) / "2026-10.jsonl")


def _socket(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as one:
        before = Path.cwd()
        os.chdir(path.parent)  # its name may not be long
        try:
            one.bind(path.name)
        finally:
            os.chdir(before)


def _sparse(farm: Path) -> None:
    os.truncate(journal(farm, sealed(GOOD)), 3 << 30)


NO_FILES: dict[str, Lay] = {
    "a pipe": in_the_way(os.mkfifo),
    "a pipe for a monthly file": lambda farm: os.mkfifo(year_of(farm) / "2026-10.json"),
    "an endless device": in_the_way(lambda path: path.symlink_to("/dev/zero")),
    "a folder": in_the_way(Path.mkdir),
    "a socket": in_the_way(_socket),
    "a link to itself": in_the_way(lambda path: path.symlink_to(path.name)),
    "a link that leads nowhere": in_the_way(lambda path: path.symlink_to("nowhere")),
    "a link to a secret": in_the_way(lambda path: path.symlink_to("/etc/passwd")),
}
FOLDERS: dict[str, Lay] = {
    "a device that is a link to itself": lambda farm: (farm / "history" / "d-loop").symlink_to("d-loop"),
    "a device that is a pipe": lambda farm: os.mkfifo(farm / "history" / "d-pipe"),
    "a year that is a file": lambda farm: (year_of(farm).parent / "2025").write_text("x"),
    "the year 0": lambda farm: (year_of(farm).parent / "0000").mkdir(),
}
LARGE: dict[str, Lay] = {
    "3 GB without content": _sparse,
    "60 MB of zeros": lambda farm: journal(farm, sealed(GOOD) + bytes(60 << 20)),
    "a line of 50 MB": lambda farm: journal(farm, line(b',"note":"' + b"x" * (50 << 20) + b'"')),
    "200,000 keys": lambda farm: journal(
        farm, line(b',"data":{' + b",".join(b'"%d":1' % n for n in range(200_000)) + b"}")
    ),
    "100,000 brackets": lambda farm: journal(farm, line(b',"data":{"a":' + b"[" * 100_000 + b"]" * 100_000 + b"}")),
    "20 million line feeds": lambda farm: journal(farm, sealed(GOOD) + b"\n" * 20_000_000),
    "20 million short lines": lambda farm: journal(farm, sealed(GOOD) + b"x\n" * 20_000_000),
    "6 million beginnings of lines": lambda farm: journal(farm, (HEAD + b"\n") * 6_000_000),
    "2 million heads in one line": lambda farm: journal(farm, (HEAD + b"}}") * 2_000_000 + b"\n"),
    "100,000 broken seals": lambda farm: journal(farm, numbered(100_000).replace(b'"sum":"', b'"sum":"0')),
    "100,000 turned bits": lambda farm: journal(farm, numbered(100_000).replace(b'"ada"', b'"bda"')),
    "100,000 odd records": lambda farm: journal(farm, numbered(100_000, lambda body: body.replace(b"6.1", b'"x"'))),
    "100,000 lines that are no records": lambda farm: journal(farm, sealed(b'{"id":[1]}') * 100_000),
    "3,000 copies of a month": lambda farm: [
        journal(farm, sealed(GOOD), f"{MONTH} ({number}).jsonl") for number in range(3_000)
    ],
    "30 MB of braces for a monthly file": lambda farm: journal(farm, b'{"a":' * 6_000_000, f"{MONTH}.json"),
}


def many_names(path: Path) -> None:
    """A zip whose list of files is longer than any bundle's."""
    with zipfile.ZipFile(path, "w") as archive:
        for number in range(70_000):
            archive.writestr(zipfile.ZipInfo(f"history/d-x/2026/{number}"), b"")


def bomb(path: Path) -> None:
    """A zip that is a thousand times larger when it is unpacked."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(f"history/d-x/2026/{MONTH}.jsonl", bytes(200 << 20))


HANDED_OVER: dict[str, Lay] = {
    "a pipe": os.mkfifo,
    "a pipe called a zip": os.mkfifo,
    "an endless device": lambda path: path.symlink_to("/dev/zero"),
    "a link to itself": lambda path: path.symlink_to(path.name),
    "nothing": lambda path: None,
    "3 GB without content": lambda path: (path.write_bytes(b""), os.truncate(path, 3 << 30)),
    "a zip of 3 GB without content": lambda path: (path.write_bytes(b""), os.truncate(path, 3 << 30)),
    "a zip with many names": many_names,
    "a zip that is a bomb": bomb,
    "a zip of nothing": lambda path: path.write_bytes(b"PK\x05\x06" + bytes(18)),
    "a zip that is cut short": lambda path: (bomb(path), os.truncate(path, 300)),
}
