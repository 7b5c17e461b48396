"""What blueprints put in place bring with them: outlets, promises, and parameters that lack a value."""

from typing import NamedTuple

from lineshaft.schema.text.use import Use


class Exit(NamedTuple):
    """An outlet of a placed blueprint, as ``leg-a.out``, and the line that puts the blueprint in place."""

    name: str
    use: Use
    uses: tuple[Use, ...]  # of the file that the line stands in


class Promise(NamedTuple):
    """What a placed blueprint promises to stand at an inlet [N*m, rad/s], and what feeds it.

    ``part`` is the placed blueprint, as ``leg-a``; ``fed`` the value of ``driven-by`` in the line that puts it in
    place; ``made`` the inlet in the blueprint's file.
    """

    part: str
    inlet: str
    torque: float
    speed: float
    source: tuple[int, int]
    fed: Use
    uses: tuple[Use, ...]
    made: Use


class Lack(NamedTuple):
    """A parameter without a default, where it is declared; and the part (index) that needs it, none for a step."""

    parameter: str
    declared: Use
    part: int | None
