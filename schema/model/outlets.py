"""A splitter's outlets: names that know their numbers and weights that know their sum, however wide it is."""

from collections.abc import Iterable


class OutletNames(tuple[str, ...]):
    """The names of a splitter's outlets in the order of their numbers."""

    numbers: dict[str, int]

    def __new__(cls, names: Iterable[str] = ()) -> "OutletNames":
        """The names with the number of each; the first where a name comes twice."""
        made = super().__new__(cls, names)
        made.numbers = {name: number for number, name in reversed(list(enumerate(made)))}
        return made


class Weights(tuple[float, ...]):
    """The weights of a splitter's outlets, in proportion to which it divides the torque."""

    total: float

    def __new__(cls, weights: Iterable[float] = ()) -> "Weights":
        """The weights with their sum."""
        made = super().__new__(cls, weights)
        made.total = sum(made)
        return made


def total_of(weights: tuple[float, ...]) -> float:
    """The sum of weights; known where they were read, reckoned where somebody tries others."""
    return weights.total if isinstance(weights, Weights) else sum(weights)
