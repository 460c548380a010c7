"""Which folder is meant where somebody names a farm, its history, or a copy of either."""

from pathlib import Path

from rounds.errors import NotFound


def history_folder(place: Path) -> Path:
    """Give the history folder of a farm folder, or the folder itself where it is one.

    Raises
    ------
    NotFound
        Where there is no such folder.
    """
    if not place.is_dir():
        raise NotFound(f"There is no folder {place}.", "The folder of a farm, or its history, is expected.")
    inner = place / "history"
    if inner.is_dir() or (place / "farm.toml").exists():
        return inner
    return place
