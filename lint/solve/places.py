"""Where parts stand in the world: the way from one to another, and whether they are neighbours."""

Vector = tuple[float, float, float]


def way_between(start: Vector | None, end: Vector | None) -> Vector | None:
    """The way from one place to another, along each axis; none where one of them is not known."""
    if start is None or end is None:
        return None
    # Rounded: 0.3 - 0.2 is 0.1 to whoever wrote it.
    return (round(end[0] - start[0], 9), round(end[1] - start[1], 9), round(end[2] - start[2], 9))


def are_neighbours(way: Vector) -> bool:
    """Whether a way is one apart on one axis: parts that drive each other stand so."""
    return sorted(abs(step) for step in way) == [0, 0, 1]
