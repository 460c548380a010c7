"""Processes that save, to be killed or to run beside each other."""

import json
import os
import random
import signal
import sys
import time
from datetime import timedelta
from pathlib import Path

from history_tools import NOON, opened, reading


def save_for_ever(folder, pipe, seed):
    numbers = random.Random(seed)
    history = opened(folder)
    while True:
        drafts = [
            reading(minutes=numbers.randrange(60 * 24 * 90), value=numbers.random(), item=f"i{numbers.randrange(9)}")
            for _ in range(numbers.choice((1, 1, 1, 3)))
        ]
        saved = history.save(*drafts)
        os.write(pipe, b"".join(each.id.encode() + b"\n" for each in saved))
        if numbers.random() < 0.2:
            history.flush()


def kill_rounds(folder, rounds, seed, longest_s):
    """Fork a saver, kill it at a random moment, and look whether every id it printed is there.

    The moment is so many ids after its start, none at times, and a random while more: however slow the machine is,
    as many ids as `awaited` says were printed.
    """
    numbers = random.Random(seed)
    printed, lost, told, without_one, awaited = set(), set(), 0, 0, 0
    for number in range(rounds):
        reader, writer = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reader)
            save_for_ever(folder, writer, seed * 100_000 + number)
        os.close(writer)
        wanted, seen = numbers.randrange(9), b""
        while seen.count(b"\n") < wanted and (more := os.read(reader, 37)):
            seen += more
        time.sleep(numbers.random() * longest_s)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        with os.fdopen(reader, "rb") as pipe:
            ids = {line.decode() for line in (seen + pipe.read()).split(b"\n") if len(line) == 36}
        awaited += wanted
        without_one += not ids
        printed |= ids
        with opened(folder) as history:
            there = {each.id for each in history.records(replaced=True)}
            told += len(history.recovered)
        lost |= printed - there
    return {
        "printed": len(printed), "lost": len(lost), "told": told, "without_one": without_one, "awaited": awaited,
    }  # fmt: skip


def save_many(folder, number, station):
    history = opened(folder)
    print("ready", flush=True)
    sys.stdin.readline()
    for each in range(number):
        (saved,) = history.save(reading(measured_at=NOON + timedelta(minutes=each), station=station, value=each))
        print(saved.id, flush=True)
    history.close()


if __name__ == "__main__":
    task, folder, number, word = sys.argv[1:]
    if task == "kill":
        print(json.dumps(kill_rounds(Path(folder), int(number), 7, float(word))))
    else:
        save_many(Path(folder), int(number), word)
