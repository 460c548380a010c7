"""What somebody hands over is looked at before it is taken in: whose farm it is of, and who may say what."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from rounds.errors import BadInput, Refused
from rounds.history.beside import beside
from rounds.history.merge import MergePreview, preview
from rounds.relief.opening import is_bundle, read_bundle
from rounds.trust.admission import Admitted, Grounds
from rounds.trust.same_farm import refuse_another_farms
from rounds.trust.signing import signing_pair, standing_of
from rounds.walk.session import Session


def looked_at(session: Session, path: Path, *, take: Collection[str] = (), same: bool = False) -> MergePreview:
    """Preview what a farm, a backup, a history or a bundle would bring in. Nothing is written.

    Parameters
    ----------
    take : collection of str
        Ids of records that come in although they are not for whoever wrote them to write; or names of devices.
    same : bool
        Whether the grower says that it is the same farm, whatever its id and name say.

    Raises
    ------
    BadInput
        Where a bundle is not sound, or holds what nobody can have written: then all of it is refused.
    NotFound
        Where there is nothing.
    Refused
        Where it is of another farm, or a helper would take in what is the grower's to decide.
    """
    if session.is_helper and (take or same):
        raise Refused("That is for the grower to say.", "Have the grower take it in.")
    bundled = is_bundle(path)
    if bundled:
        read_bundle(path)
    theirs, standing = beside(path), standing_of(session.history)
    if not same:
        refuse_another_farms(session.history, session.farm.name, theirs, str(path))
    people = [person for person in session.farm.people if person.role == "grower"]
    growers = frozenset(name.casefold() for person in people for name in (person.id, person.name))
    grounds = Grounds(
        growers=growers, zone=session.zone, take=frozenset(take), same=same, at=session.now(), bundled=bundled,
        by=signing_pair(standing) if take else None,
    )  # fmt: skip
    found = preview(session.history, path, Admitted(session.history, standing, theirs, grounds))
    impossible = [each for each in found.refused if not each.may_be_taken]
    if bundled and impossible:
        raise BadInput(impossible[0].sentence, "Nothing was taken in.")
    return found
