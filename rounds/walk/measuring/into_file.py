"""What was measured written into farm.toml, once the difference was shown."""

from __future__ import annotations

from rounds.errors import RoundsError
from rounds.farm.rewriting import Change, change_station
from rounds.walk.dialogue import Choice, Question
from rounds.walk.measuring.kinds import Kind, Subject
from rounds.walk.session import Session

WRITE = "w"


def change_for(session: Session, kind: Kind, subject: Subject) -> Change | None:
    """What farm.toml would become with what was measured; None where it would stay, or cannot be changed here."""
    values = kind.into_file(session.farm, subject.id) if kind.into_file is not None else {}
    try:
        change = change_station(session.filed.folder, subject.id, values) if values else None
    except RoundsError:
        return None
    return change if change is not None and change.is_new else None


def file_question(change: Change) -> Question:
    """Whether it is written, below the difference."""
    return Question(
        code="into-file", text="Write it into farm.toml?", lines=tuple(change.preview().splitlines()),
        hint="w, then Enter, writes it; Enter alone leaves the file: the number counts all the same",
        choices=(Choice(WRITE, "write it"), Choice("enter", "leave the file")),
    )  # fmt: skip
