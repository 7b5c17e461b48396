"""Parts by name, and by what else a reference may have meant: the blueprint they stand in, their name inside it."""


class PartIndex(dict[str, int]):
    """The parts of a rig as one file knows them, by name; ``leg/step`` stands in the blueprint placed as ``leg``.

    What is asked for the words of a fault alone is worked out once, when it is first asked.
    """

    _inside: dict[str, str] | None = None
    _local: dict[str, list[str]] | None = None

    def first_inside(self, placed: str) -> str | None:
        """The first part in the blueprint placed under a name; none where none is."""
        if self._inside is None:
            self._inside = {}
            for whole in self:
                at = whole.find("/")
                while at > 0:
                    self._inside.setdefault(whole[:at], whole)
                    at = whole.find("/", at + 1)
        return self._inside.get(placed)

    def ending_in(self, name: str) -> list[str]:
        """The parts that are called so in a blueprint's own file."""
        if self._local is None:
            self._local = {}
            for whole in self:
                at = whole.find("/")
                while at > 0:
                    self._local.setdefault(whole[at + 1 :], []).append(whole)
                    at = whole.find("/", at + 1)
        return self._local.get(name, [])
