"""Which folder is meant where somebody names a farm, its history, or a copy of either."""

from pathlib import Path

from rounds.errors import NotFound


def check_folder(history: Path) -> None:
    """Refuse a history that cannot be a folder.

    Raises
    ------
    NotFound
        Where something else of that name lies there.
    """
    if history.is_symlink() and not history.exists():
        raise NotFound(f"{history} leads nowhere.", "The folder of the history is expected there, or nothing.")
    if history.exists() and not history.is_dir():
        raise NotFound(f"{history} is a file, not a folder.", "Move it away: the records are kept in a folder there.")


def history_folder(place: Path) -> Path:
    """Give the history folder of a farm folder, or the folder itself where it is one.

    Raises
    ------
    NotFound
        Where there is no such folder, or a file lies in its place.
    """
    if not place.is_dir():
        raise NotFound(f"There is no folder {place}.", "The folder of a farm, or its history, is expected.")
    inner = place / "history"
    if inner.is_dir() or (place / "farm.toml").exists():
        check_folder(inner)
        return inner
    return place
