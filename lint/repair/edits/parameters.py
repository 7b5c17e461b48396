"""Edits of a blueprint where a parameter stands: written at its default, and no parameter is left without use."""

from lineshaft.check.finding import Edit
from lineshaft.repair.edits.entries import edit
from lineshaft.schema.blueprint.blueprint import read_blueprint
from lineshaft.schema.text.tree import Tree


def at_defaults(tree: Tree, edits: tuple[Edit, ...]) -> tuple[tuple[Edit, ...], tuple[str, ...]] | None:
    """The edits of a blueprint's file, and the parameters whose defaults they change.

    An edit of a scalar that is a parameter becomes one of the parameter's default, which holds wherever a rig gives no
    other. None where the parameter has no default, or two edits give it different ones.
    """
    as_built = {}
    for route, slots in read_blueprint(tree)[0].slots.items():
        for slot in slots:
            as_built[tree.source.span(*tree.slice((*route, *slot.route)))] = slot.name
    moved: dict[Edit, str | None] = {}
    texts: dict[str, str] = {}
    for change in edits:
        name = as_built.get(change.span)
        if name is None:
            moved[change] = None
            continue
        route = ("takes", name, "default")
        if tree.at(route) is None or texts.setdefault(name, change.text) != change.text:
            return None
        moved[edit(tree, *tree.slice(route), change.text)] = name
    return tuple(moved), tuple(texts)


def keeps_parameters(before: Tree, after: Tree) -> bool:
    """Whether every parameter that stood somewhere in a blueprint still does, so that what rigs give it counts."""
    return _used(before) <= _used(after)


def _used(tree: Tree) -> set[str]:
    return {slot.name for slots in read_blueprint(tree)[0].slots.values() for slot in slots}
