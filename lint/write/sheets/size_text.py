"""The chains that give a machine what it needs, as a table on a terminal."""

from collections.abc import Sequence
from math import isinf

from lineshaft.check.finding import Measure, Text, power, seconds, speed, torque
from lineshaft.repair.size import Sized, Sizing, Wanted
from lineshaft.repair.size_reasons import words_of_gain
from lineshaft.schema.model.rig import Part
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.finding_words import costs
from lineshaft.write.page import ENDLESS, Page
from lineshaft.write.shown_units import Units, measure, words
from lineshaft.write.table import table

_HEAD = ("no.", "chain", "overall", "cost", "parts", "gets", "left over", "one unit in")


def size_text(
    rig: SolvedRig, found: Sizing, reason: str, units: Units, page: Page = ENDLESS, lacking: Sequence[str] = ()
) -> str:
    """What is asked and the chains as a table, or the ``reason`` why there is none; with a stock what has to be got."""
    line = found.line
    part = rig.parts[found.machine]
    source = rig.parts[line.source[0]].name
    arrives = ("From ", source, " come ", torque(line.torque), " at ", speed(line.speed))
    asked: Text = (*arrives, ", ", power(line.torque * line.speed), ".", *_asks(part, found.wanted))
    text = page.paragraph(words(asked, units))
    if not found.found:
        return text + page.paragraph(f"No chain: {reason}.")
    unit = part.item.work.unit if part.item.work is not None else "unit"
    rows = [_row(part, found.wanted, number, sized, units) for number, sized in enumerate(found.found, start=1)]
    head = [*_HEAD[:-1], f"one {unit} in"]
    if lacking:
        head.append("to get")
        rows = [[*row, more] for row, more in zip(rows, lacking, strict=True)]
    text += f"\n{table(head, rows, frozenset({0, 3, 4}), page)}\n"
    dearer = "" if found.complete else " Dearer chains were not all looked at."
    each = "Each was solved and judged in the rig; cost is what it adds to the worth of the bill."
    text += page.paragraph(f"{each}{dearer}")
    left = "Left out are chains that cost more, need no fewer parts and are no faster than one shown."
    return text + page.paragraph(left)


def _asks(part: Part, wanted: Wanted) -> Text:
    needs = part.item.needs
    asked: list[str | Measure] = []
    for value, unit in ((needs.torque, "N*m"), (needs.speed, "rad/s"), (needs.power, "W")):
        if value is not None:
            asked += [", " if asked else f" {part.name} needs ", Measure(value, unit)]
    if part.target is not None and part.item.work is not None:
        start = "; its target, one " if asked else f" The target of {part.name}, one "
        asked += [f"{start}{part.item.work.unit} in ", seconds(part.target), ", takes ", speed(wanted.speed)]
    return (*asked, ".")


def _row(part: Part, wanted: Wanted, number: int, sized: Sized, units: Units) -> list[str]:
    gets = sized.machine
    time = "-" if gets.time is None else "stalled" if isinf(gets.time) else measure(seconds(gets.time), units)
    return [
        str(number),
        sized.chain.words,
        words_of_gain(sized.chain.gain),
        costs(sized.repair.worth).removeprefix("cost "),
        f"{sized.repair.parts_added:+d}" if sized.repair.parts_added else "0",
        f"{measure(torque(gets.torque), units)} at {measure(speed(gets.speed), units)}",
        ", ".join(measure(value, units) for value in gets.left_over(wanted)),
        time,
    ]
