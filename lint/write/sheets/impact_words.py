"""What an impact shows in words: ratings, blame, pairs of values, what moves most."""

from lineshaft.changes.editions import Rating, Value
from lineshaft.changes.impact import Broken, RigImpact
from lineshaft.check.finding import Measure
from lineshaft.solve.movements import MachineMove, Pair, PartMove
from lineshaft.write.shown_units import Units, figures, hourly, measure, words

VERDICTS = {
    "breaks": ("newly breaks", "newly break"),
    "worse": ("gets worse", "get worse"),
    "mended": ("is mended", "are mended"),
    "moves": ("moves", "move"),
    "same": ("stays as it is", "stay as they are"),
}
"""What is said of one rig and of several."""


def value_words(value: Value, unit: str, units: Units) -> str:
    """A rating's value, for example `1.2 kN·m`."""
    if value is None:
        return "none"
    return value if isinstance(value, str) else measure(Measure(value, unit), units)


def rating_words(rating: Rating, units: Units) -> str:
    """For example `tide-wheel torque, was 15 kN·m, is 18 kN·m`."""
    was, now = value_words(rating.old, rating.unit, units), value_words(rating.new, rating.unit, units)
    return f"{rating.words}, was {was}, is {now}"


def blame_words(broken: Broken, units: Units) -> str:
    """The ratings to blame; nothing where no rating changed."""
    if not broken.blame:
        return ""
    shown = [rating_words(rating, units) for rating in broken.blame[:4]]
    more = f"; and {len(broken.blame) - 4} more" if len(broken.blame) > 4 else ""
    return f"{'no single one, but together: ' if broken.together else ''}{'; '.join(shown)}{more}"


def finding_words(broken: Broken, units: Units) -> str:
    """What a finding says, and what it said before where it was there."""
    now = words(broken.finding.message, units)
    return now if broken.was is None else f"{now} (before: {words(broken.was.message, units)})"


def pair_words(pair: Pair, unit: str, units: Units) -> str:
    """`900 N·m -> 1 kN·m`, or one value where it stays; a share of a limit in percent."""
    if pair.moves:
        return f"{_one(pair.old, unit, units)} -> {_one(pair.new, unit, units)}"
    return _one(pair.new, unit, units)


def _one(value: float | None, unit: str, units: Units) -> str:
    if value is None:
        return "-"
    return f"{figures(value * 100)} %" if unit == "%" else measure(Measure(value, unit), units)


def part_cells(move: PartMove, units: Units) -> list[str]:
    """Part, torque, speed and share of limit."""
    return [
        move.part,
        pair_words(move.torque, "N*m", units),
        pair_words(move.speed, "rad/s", units),
        pair_words(move.share, "%", units),
    ]


def rate_words(move: MachineMove) -> str:
    """For example `saw works 80 -> 92 times an hour (plank)`; 0 with its reason, `0 (stalled)` or `0 (at rest)`."""
    old, new = (figures(rate) if rate else f"0 ({hourly(rate)})" for rate in move.rate)
    return f"{move.part} works {old} -> {new} times an hour ({move.unit})"


def by_share(moves: tuple[PartMove, ...]) -> list[PartMove]:
    """The parts that move, those nearest to their limits first."""
    return sorted(moves, key=lambda move: -(move.share.new or 0.0))


def most_moved(rig: RigImpact, units: Units) -> str:
    """One line: how many parts move, which most by its share of a limit, and the machines whose rates change."""
    moves = rig.moves
    pieces = []
    if moves.parts:
        most = max(moves.parts, key=lambda move: abs((move.share.new or 0.0) - (move.share.old or 0.0)))
        share = pair_words(most.share, "%", units)
        many = f"{len(moves.parts)} part{'s' if len(moves.parts) > 1 else ''}"
        pieces.append(f"{many}, most {most.part}: {share} of its limit" if most.share.moves else many)
    pieces += [rate_words(move) for move in moves.machines[:3]]
    if len(moves.machines) > 3:
        pieces.append(f"{len(moves.machines) - 3} more machines")
    for names, verb in ((moves.came, "new"), (moves.gone, "gone")):
        if names:
            pieces.append(f"{verb}: {', '.join(names[:4])}" + (f" and {len(names) - 4} more" if len(names) > 4 else ""))
    return "; ".join(pieces)
