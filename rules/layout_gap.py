"""Connected parts do not stand next to each other, or the line turns where it cannot.

What: two connected parts both say where they are with `at`, and they are not neighbours (one apart on one axis); or the
line turns in a part that is no right-angle drive, splitter or combiner.

Why: a shaft is straight and ends at its neighbour; what is drawn with a gap or a bend cannot be built so.

How to repair: correct `at`, add the parts that fill the gap, or put a right-angle drive at the turn.

Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from lineshaft import api

_TURNS = ("right-angle", "splitter", "combiner")


def check(rig: api.SolvedRig) -> Iterator[api.Reported]:
    """One finding a connection, at the lower part."""
    for number, part in enumerate(rig.parts):
        if part.at is None:
            continue
        for source, _ in part.inlets:
            above = rig.parts[source]
            way = api.way_between(above.at, part.at)
            if way is None:
                continue
            if not api.are_neighbours(way):
                gap = f"stands at {_words(part.at)}, its driver {above.name} at {_words(above.at)}: not neighbours"
                yield _finding(rig, number, source, gap, "correct `at`, or add the parts that fill the gap")
            elif above.item.kind not in _TURNS and _turned(rig, source, way):
                turn = f"the line turns in {above.name}, which is no right-angle drive, splitter or combiner"
                yield _finding(rig, number, source, turn, f"put a right-angle drive where {above.name} stands")


def _turned(rig: api.SolvedRig, number: int, way: api.Vector) -> bool:
    """Whether the line comes into a part another way than it goes out; unknown counts as straight."""
    for source, _ in rig.parts[number].inlets:
        before = api.way_between(rig.parts[source].at, rig.parts[number].at)
        if before is not None and api.are_neighbours(before) and before != way:
            return True
    return False


def _words(at: api.Vector | None) -> str:
    return "(" + ", ".join(f"{step:g}" for step in at or ()) + ")"


def _finding(rig: api.SolvedRig, number: int, source: int, words: str, suggestion: str) -> api.Reported:
    file, span, _ = rig.place(source)
    above = rig.parts[source]
    because = (api.Cause(file, span, above.name, (f"stands at {_words(above.at)}",)),)
    name = rig.parts[number].name
    return api.report(rig.place(number), name, (words,), (), because, (suggestion,))


def repairs(_: api.SolvedRig, __: api.Finding) -> Iterator[api.Offer]:
    """Nothing: the program does not know where there is room."""
    yield api.NoFix("where the parts stand is for whoever builds it to say: correct `at`, or add what fills the gap")


RULE = api.Rule("layout-gap", "warning", check, repairs, local=True)
