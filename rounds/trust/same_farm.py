"""Whether what comes in is of this farm."""

from __future__ import annotations

from rounds.errors import Refused
from rounds.history.beside import Beside
from rounds.history.farm_id import farm_ids
from rounds.history.store import History

NAMELESS = "a farm whose name it does not say"


def refuse_another_farms(history: History, name: str, theirs: Beside, where: str) -> None:
    """Refuse what says that it is of another farm.

    Ids tell, where both have one; else the names tell, where both are known. What was written before farms had ids, and
    says no name, cannot be told from one's own.

    Parameters
    ----------
    name : str
        What this farm is called.
    where : str
        What comes in, as it was named.

    Raises
    ------
    Refused
        With both names.
    """
    there, here = farm_ids(theirs.statements), farm_ids(history.statements())
    if here and there:
        same = bool(here & there)
    else:
        same = not (name and theirs.farm_name) or name == theirs.farm_name or bool(history.farm_ids() & there)
    if not same:
        raise Refused(
            f"{where} is of another farm: this one is “{name}”, that one is “{theirs.farm_name or NAMELESS}”.",
            "If it is the same farm all the same, say so:  rounds merge FARM OTHER --same",
            code="another-farm",
        )
