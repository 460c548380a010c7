"""Every number of the farm that can be measured: what was measured, and what is only a guess of its files."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from rounds.farm.known_by import KnownBy
from rounds.walk.measuring.kinds import KINDS, filed_text
from rounds.walk.session import Session


class Number(msgspec.Struct, frozen=True, kw_only=True):
    """One of them."""

    what: str
    of: str
    """Id of its station, water or feed."""
    name: str
    known: KnownBy | None
    filed: str
    """What the farm's files say, with its unit, and what that is; empty where they do not."""
    begun: bool
    """Whether a measurement was begun and not ended."""

    @property
    def text(self) -> str:
        """It in words."""
        begun = "; a measurement is begun" if self.begun else ""
        if self.known is None:
            return f"{self.what:<10} {self.name}: {self.filed or 'not known'}{begun}"
        doubt = f" (give or take {1.645 * self.known.sd:.2g})" if self.known.sd > 0.0 else ""
        return f"{self.what:<10} {self.name}: {self.known.value:.3g} {self.known.unit}{doubt}, {self.known.told}{begun}"


def numbers(session: Session) -> Iterator[Number]:
    """All of them, by what is measured."""
    from rounds.walk.measuring.keeping import begun

    for kind in (each for each in KINDS.values() if each.is_number):
        for subject in kind.of(session.farm):
            yield Number(
                what=kind.what, of=subject.id, name=subject.name,
                known=session.farm.measured.get((subject.id, kind.what)),
                filed=filed_text(session, kind, subject.id),
                begun=bool(begun(session, kind.what, subject.id)[1]),
            )  # fmt: skip
