"""A deviation as an edit of the rig's file, or what to do by hand where the file cannot say it."""

from typing import NamedTuple

from lineshaft.audit.deviations import Deviation, with_deviation
from lineshaft.check.finding import Edit, Measure, Text, speed, times, torque
from lineshaft.repair.edits.entries import edit
from lineshaft.repair.edits.parts import set_key, without_inlets
from lineshaft.schema.model.catalogue import Output
from lineshaft.schema.model.rig import Part
from lineshaft.solve.prime_mover import output_of


class Expressed(NamedTuple):
    """A deviation in words; its edits, or by hand what is to be done."""

    words: Text
    edits: tuple[Edit, ...]
    by_hand: Text


def expressed(part: Part, deviation: Deviation, at: str = "") -> Expressed:
    """What a deviation at a part is, and how the file comes to say it; ``at`` is the place of a reading that is wrong.

    A part inside a blueprint is written once for all uses of it, so one use cannot be told apart by an edit.
    """
    if deviation.kind == "wrong-reading":
        said = f"the reading at {at} is wrong: all else on its line agrees"
        return Expressed((said,), (), (f"read {at} again; no repair writes into a reading",))
    if part.uses:
        shown = part.tree.source.shown
        where = f"{part.name} is written in {shown}, for every use of that blueprint"
        shared: Text = (f"{where}: change it there if all stand so, else write this use's parts out in the rig",)
        by_hand = _by_hand(part, deviation) or _by_parameter(part, deviation) or shared
        return Expressed(_words(part, deviation), (), by_hand)
    return Expressed(_words(part, deviation), _edits(part, deviation), _by_hand(part, deviation))


_KEYS = {
    "other-way": "set",
    "clutch-open": "engaged",
    "clutch-engaged": "engaged",
    "other-ratio": "ratio",
    "other-shares": "shares",
    "estimated-shares": "shares",
    "lower-head": "head",
}
"""The key that says what a deviation changes."""


def _by_parameter(part: Part, deviation: Deviation) -> Text:
    """Where the blueprint leaves the setting to its users; empty where it does not."""
    key = _KEYS.get(deviation.kind, "")
    data = part.tree.at((*part.route, key))
    if isinstance(data, str) and data.startswith("$"):
        name = part.tree.source.shown
        return (f"`{key}` is the parameter {data[1:]} of {name}: give another under `with` where the rig uses it",)
    return ()


def _words(part: Part, deviation: Deviation) -> Text:
    name = part.name
    match deviation.kind:
        case "other-way":
            stands = with_deviation(part, deviation).direction
            return (f"{name} is set to {stands}, not to {part.direction}",)
        case "clutch-open":
            return (f"{name} is open",)
        case "clutch-engaged":
            return (f"{name} is engaged, not open",)
        case "not-coupled":
            return (f"{name} is not coupled",)
        case "stopped":
            return (f"{name} stands still",)
        case "other-ratio":
            assert deviation.ratio is not None and part.ratio is not None
            return (f"{name} has ratio {deviation.ratio.text}, not {part.ratio.text}",)
        case "other-shares" | "estimated-shares":
            about = "about " if deviation.kind == "estimated-shares" else ""
            return (f"{name} shares {about}{_proportion(deviation.shares)}, not {_proportion(part.shares)}",)
        case "lower-head":
            return (f"{name} has a head of ", Measure(deviation.value, "m"), ", not ", Measure(part.head or 0.0, "m"))
        case "torque-lost":
            dry = " or dry" if part.item.lubricant is not None else ""
            return (f"{name} passes on ", times(100 * deviation.value), f" % of its torque: worn{dry}")
        case "lower-torque" | "lower-speed":
            what = "torque" if deviation.kind == "lower-torque" else "speed"
            return (f"{name} gives ", times(100 * deviation.value), f" % of its {what}")
    return ()


def _proportion(shares: tuple[float, ...]) -> str:
    return " : ".join(_figure(share) for share in _weights(shares))


def _weights(shares: tuple[float, ...]) -> tuple[float, ...]:
    """Shares as a person writes them: small whole numbers where they are such, else percents."""
    total = sum(shares)
    if abs(total - 1) > 1e-9:
        return shares
    for parts in range(len(shares), 13):
        whole = [share * parts for share in shares]
        if all(abs(w - round(w)) < 1e-6 and round(w) > 0 for w in whole):
            return tuple(float(round(w)) for w in whole)
    return tuple(round(100 * share, 2) for share in shares)


def _figure(value: float) -> str:
    return f"{value:.6g}"


def _edits(part: Part, deviation: Deviation) -> tuple[Edit, ...]:
    match deviation.kind:
        case "other-way":
            return (set_key(part, "set", str(with_deviation(part, deviation).direction)),)
        case "clutch-open":
            return (set_key(part, "engaged", "false"),)
        case "clutch-engaged":
            return (set_key(part, "engaged", "true"),)
        case "not-coupled":
            return without_inlets(part)
        case "other-ratio":
            return (set_key(part, "ratio", deviation.ratio.text),) if deviation.ratio is not None else ()
        case "other-shares" | "estimated-shares":
            return _share_edits(part, _weights(deviation.shares))
        case "lower-head":
            return (set_key(part, "head", f"{deviation.value:.6g} m"),)
    return ()


def _share_edits(part: Part, weights: tuple[float, ...]) -> tuple[Edit, ...]:
    """Each weight that changes, in its place."""
    tree = part.tree
    found = []
    for name, old, new in zip(part.outlets, part.shares, weights, strict=True):
        if old != new:
            found.append(edit(tree, *tree.slice((*part.route, "shares", name)), _figure(new)))
    return tuple(found)


def _by_hand(part: Part, deviation: Deviation) -> Text:
    """Empty where the file can say it all."""
    name, item = part.name, part.item.name
    match deviation.kind:
        case "torque-lost":
            dry = "its lubricant and " if part.item.lubricant is not None else ""
            left = part.item.efficiency * deviation.value
            look = f"look at {dry}the teeth of {name}; a rig file cannot say what one part loses: that is the"
            return (f"{look} efficiency of {item} in the catalogue, about ", times(left), " here")
        case "stopped":
            return (f"start {name}; a rig file takes every prime mover as running",)
        case "lower-torque" | "lower-speed":
            given = output_of(with_deviation(part, deviation)) or Output(0.0, 0.0)
            look = f"look at {name}; a rig file cannot say what it gives: that is the output of {item} in the catalogue"
            return (f"{look}, about ", torque(given.torque), " at ", speed(given.speed), " here")
    return ()
