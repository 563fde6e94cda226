"""The entries that count, found by the things they name."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from tubertrack.core.stock.entries import Act
from tubertrack.core.stock.things import Thing, kinship, things_of


class ActIndex:
    """Living entries by hash and by thing, and the kinship of things."""

    def __init__(self) -> None:
        self.acts: dict[str, Act] = {}
        self._acts_of: dict[Thing, set[str]] = defaultdict(set)
        self._sorted: dict[Thing, list[Act]] = {}
        self._things_of: dict[str, set[Thing]] = {}
        self._children: dict[Thing, dict[Thing, int]] = defaultdict(lambda: defaultdict(int))

    def replace(self, sha: str, new: Act | None) -> set[Thing]:
        """Puts the entry as it counts now in the place of how it counted; what it touches."""
        old = self.acts.pop(sha, None)
        dirty = set() if old is None else self._remove(old)
        return dirty if new is None else dirty | self._add(new)

    def _add(self, act: Act) -> set[Thing]:
        self.acts[act.sha256] = act
        things = things_of(act)
        self._things_of[act.sha256] = things
        for thing in things:
            self._acts_of[thing].add(act.sha256)
            self._sorted.pop(thing, None)
        for parent, child in kinship(act):
            self._children[parent][child] += 1
        return set(things)

    def _remove(self, act: Act) -> set[Thing]:
        things = self._things_of.pop(act.sha256)
        for thing in things:
            self._acts_of[thing].discard(act.sha256)
            self._sorted.pop(thing, None)
        for parent, child in kinship(act):
            self._children[parent][child] -= 1
            if not self._children[parent][child]:
                del self._children[parent][child]
        return things

    def attach(self, act: Act, thing: Thing) -> None:
        """The entry also names this thing, as another entry says."""
        self._things_of[act.sha256].add(thing)
        self._acts_of[thing].add(act.sha256)
        self._sorted.pop(thing, None)

    def detach(self, act: Act, thing: Thing) -> None:
        """The entry does not name this thing after all."""
        self._things_of[act.sha256].discard(thing)
        self._acts_of[thing].discard(act.sha256)
        self._sorted.pop(thing, None)

    def acts_of(self, sort: str, key: str) -> Sequence[Act]:
        """The living entries that name a thing, in the order of the farm's history."""
        thing = (sort, key)
        if thing not in self._sorted:
            found = (self.acts[sha] for sha in self._acts_of.get(thing, ()))
            self._sorted[thing] = sorted(found, key=lambda act: act.key)
        return self._sorted[thing]

    def things_named_by(self, act: Act) -> set[Thing]:
        """What the entry names, attached things among them."""
        return set(self._things_of[act.sha256])

    def all_things(self, *sorts: str) -> set[Thing]:
        """Every thing of these sorts that some entry named."""
        return {thing for thing in self._acts_of if thing[0] in sorts}

    def with_descendants(self, things: Iterable[Thing]) -> set[Thing]:
        """The things, what takes over something from them, and so on."""
        seen: set[Thing] = set()
        todo = list(things)
        while todo:
            thing = todo.pop()
            if thing not in seen:
                seen.add(thing)
                todo.extend(self._children.get(thing, ()))
        return seen
