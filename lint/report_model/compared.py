"""A rig before and after a change, as two schematics that show what differs and what leads there."""

from lineshaft.report_model.excerpt import without
from lineshaft.report_model.schematic_record import Node, Schematic

MOST_WHOLE = 16
"""Parts up to which both are shown whole."""


def compared(before: Schematic, after: Schematic) -> tuple[Schematic, Schematic]:
    """Both with what is new, changed and gone named; of a large rig only what differs, its paths and what it drives."""
    old, new = ({node.name: node for node in one.nodes} for one in (before, after))
    same = before.state == after.state
    marked_old = tuple(node._replace(news="" if node.name in new else "goes") for node in before.nodes)
    marked_new = tuple(node._replace(news=_news(old.get(node.name), node, same_state=same)) for node in after.nodes)
    pair = before._replace(nodes=marked_old), after._replace(nodes=marked_new)
    if max(len(before.nodes), len(after.nodes)) <= MOST_WHOLE:
        return pair
    names = {node.name for one in pair for node in one.nodes if node.news} | {n.name for n in before.nodes if n.over}
    return _around(pair[0], names), _around(pair[1], names)


def _news(was: Node | None, node: Node, *, same_state: bool) -> str:
    """Whether a part is new or differs itself: its item, its limit, what it is set to; not only what it carries.

    Where one is drawn at a step of the start-up and the other is not, what it is set to differs by that alone.
    """
    if was is None:
        return "new"
    limits = [one.load[1] if one.load is not None else None for one in (was, node)]
    other_limit = was.quantity == node.quantity and limits[0] != limits[1]
    return "changed" if was.item != node.item or other_limit or (same_state and was.does != node.does) else ""


def _around(schematic: Schematic, names: set[str]) -> Schematic:
    """The parts of these names, what leads to them, and what they drive."""
    above: dict[int, list[int]] = {}
    for link in schematic.links:
        above.setdefault(link.target, []).append(link.source)
    wanted = [number for number, node in enumerate(schematic.nodes) if node.name in names]
    if not wanted:
        return schematic
    kept = set(wanted) | {link.target for link in schematic.links if link.source in wanted}
    waiting = list(kept)
    for here in waiting:
        for source in above.get(here, ()):
            if source not in kept:
                kept.add(source)
                waiting.append(source)
    return without(schematic, kept)
