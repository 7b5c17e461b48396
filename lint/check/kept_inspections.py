"""Rigs with findings as they were judged, kept for who looks for their repairs next: none is read twice for that."""

from pathlib import Path
from typing import Final, NamedTuple

from lineshaft.check.inspection import Inspected
from lineshaft.schema.text.dependencies import DependencyRecorder, Query

_MOST_PARTS: Final = 20_000
"""Parts of all rigs that are kept, with what they hang on: some 40 MB."""


class Kept(NamedTuple):
    """A rig as it was judged, and what was asked of the disk for it, where that was noted."""

    inspected: Inspected
    queries: tuple[Query, ...]

    def noted(self, recorder: DependencyRecorder | None) -> Inspected:
        """The rig, for a verdict that hangs on the same answers."""
        if recorder is not None:
            for query in self.queries:
                recorder.again(query)
        return self.inspected


def keep(kept: dict[Path, Kept], path: Path, inspected: Inspected, recorder: DependencyRecorder | None) -> None:
    """Keep a rig; what is more than fits is judged again."""
    if sum(len(other.inspected.rig.parts) for other in kept.values()) + len(inspected.rig.parts) <= _MOST_PARTS:
        asked = () if recorder is None else recorder.dependencies()
        kept[path] = Kept(inspected, tuple(query for query, _ in asked))
