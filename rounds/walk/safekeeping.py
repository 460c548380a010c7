"""Whether the record is safe: the last good backup, and a clock that is not to be believed."""

from __future__ import annotations

from rounds.walk.session import Session

LONGEST_DAYS = 14


def backup_text(session: Session) -> str:
    """When the last good backup was made, in words."""
    from rounds.history.last_backup import last_backup

    made = last_backup(session.farm.folder)
    if made is None:
        return "There has been no backup yet: rounds backup FARM DIR makes and verifies one."
    days = (session.now() - made.at).days
    age = "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"
    return f"The last good backup was made {age}."


def concerns(session: Session) -> list[str]:
    """What the grower should know before the walk; mostly nothing."""
    clock = session.history.clock_concern()
    return [*([clock] if clock else []), *([backup_text(session)] if _backup_is_due(session) else [])]


def _backup_is_due(session: Session) -> bool:
    if not _has_much_to_lose(session):
        return False
    from rounds.history.last_backup import last_backup

    made = last_backup(session.farm.folder)
    return made is None or (session.now() - made.at).days > LONGEST_DAYS


def _has_much_to_lose(session: Session) -> bool:
    moments = [record.measured_at for record in session.history.latest_by_item().values()]
    return bool(moments) and (max(moments) - min(moments)).days > LONGEST_DAYS
