"""A line that puts a blueprint in place."""

from typing import NamedTuple

from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Tree


class Use(NamedTuple):
    """A line that puts a blueprint in place (or a value in one): the tree it is written in and the route to it."""

    tree: Tree
    route: Route
