"""Which record stands where several replace one another: the same from the same set, in whatever order it came."""

from collections.abc import Iterable

from rounds.history.record import Record

Rank = tuple[int, str, str]


class Replacements:
    """The replacing records, and which of each family stands.

    A family is a record with everything that replaces it, directly or in turn. Of its members that nothing replaces,
    the one of highest rank (Lamport counter, device, id) stands; the others stay visible in the chain.
    """

    def __init__(self) -> None:
        self._edges: dict[str, tuple[str, Rank]] = {}
        self._children: dict[str, list[str]] = {}

    def add(self, id: str, replaces: str, rank: Rank) -> bool:
        """Take in one replacing record; tell whether it was new."""
        if id in self._edges:
            return False
        self._edges[id] = (replaces, rank)
        self._children.setdefault(replaces, []).append(id)
        return True

    def add_records(self, records: Iterable[Record]) -> None:
        for record in records:
            if record.replaces is not None:
                self.add(record.id, record.replaces, record.rank)

    def stands(self, id: str) -> bool:
        """Tell whether a record is the one of its family that counts (a void one counts as a deletion)."""
        if id not in self._edges:
            return id not in self._children
        return id == self.standing(id)

    def standing(self, id: str) -> str:
        """Name the record that counts in the family of `id`."""
        family = self.family(id)
        ranked = [member for member in family if member in self._edges]
        if not ranked:
            return id
        leaves = [member for member in ranked if not self._children.get(member)]
        return max(leaves or ranked, key=lambda member: self._edges[member][1])

    def family(self, id: str) -> list[str]:
        """List everything that is linked to `id` by replacing, the root first, each generation in order of rank."""
        found = {self._root(id): None}
        queue = list(found)
        for member in queue:
            for child in sorted(self._children.get(member, ()), key=lambda each: self._edges[each][1]):
                if child not in found:
                    found[child] = None
                    queue.append(child)
        return list(found)

    def children(self, id: str) -> tuple[str, ...]:
        """List what replaces a record directly."""
        return tuple(self._children.get(id, ()))

    def rows(self) -> list[tuple[str, str, int, str]]:
        """List id, replaced id, Lamport counter and device of every replacing record, for the summary."""
        return [(id, replaced, rank[0], rank[1]) for id, (replaced, rank) in self._edges.items()]

    def _root(self, id: str) -> str:
        seen = {id}
        while id in self._edges:
            above = self._edges[id][0]
            if above in seen:
                return min(seen)
            seen.add(above)
            id = above
        return id
