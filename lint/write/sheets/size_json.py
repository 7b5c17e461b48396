"""A sizing as JSON, `lineshaft-size/1`: its published form, kept apart from the types inside."""

import math
from collections.abc import Sequence

from lineshaft import __version__
from lineshaft.repair.size import Chain, Sized, Sizing
from lineshaft.schema.model.rig import Part
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.stock_bill import StockBill
from lineshaft.write.findings_json import repair_document
from lineshaft.write.json_text import json_text

FORMAT = "lineshaft-size/1"


def size_json(rig: SolvedRig, found: Sizing, reason: str | None, bills: Sequence[StockBill] = ()) -> bytes:
    """One document: what arrives, what is wanted, the chains; why there is none."""
    part = rig.parts[found.machine]
    number, outlet = found.line.source
    source = rig.parts[number]
    wanted = {"torque": found.wanted.torque, "speed": found.wanted.speed, "power": found.wanted.power}
    chains = [_chain(part, found, sized) for sized in found.found]
    for chain, bill in zip(chains, bills, strict=False):
        chain["to_get"] = {"worth": bill.worth, "raw": dict(bill.lacking)}
    document = {
        "format": FORMAT,
        "version": __version__,
        "file": rig.file,
        "machine": part.name,
        "from": f"{source.name}.{source.outlets[outlet]}" if source.outlets else source.name,
        "arrives": _flow(found.line.torque, found.line.speed),
        "wanted": {name: _value(value, _UNITS[name]) for name, value in wanted.items() if value > 0},
        "most_stages": found.most,
        "complete": found.complete,
        "chains": chains,
        "no_chain": reason,
    }
    return json_text(document)


_UNITS = {"torque": "N*m", "speed": "rad/s", "power": "W"}


def _value(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


def _flow(torque: float, speed: float) -> dict[str, object]:
    return {"torque": _value(torque, "N*m"), "speed": _value(speed, "rad/s"), "power": _value(torque * speed, "W")}


def _chain(part: Part, found: Sizing, sized: Sized) -> dict[str, object]:
    gets = sized.machine
    over = gets.left_over(found.wanted)
    ratio = sized.chain.gain if sized.chain.gain >= 1 else 1 / sized.chain.gain
    return {
        "stages": _stages(sized.chain),
        "lines": sized.chain.lines,
        "overall": {"ratio": str(ratio), "set": "increase" if sized.chain.gain >= 1 else "reduce"},
        "share_of_limit": sized.share,
        "gets": _flow(gets.torque, gets.speed),
        "left_over": {name: _value(m.value, m.unit) for name, m in zip(_UNITS, over, strict=True)},  # type: ignore[arg-type]
        "time": None if gets.time is None or math.isinf(gets.time) else _value(gets.time, "s"),
        "parts_added": sized.repair.parts_added,
        "repair": repair_document(sized.repair),
    }


def _stages(chain: Chain) -> list[dict[str, object]]:
    """The stages from above; `lines` says in how many lines side by side each of them stands."""
    return [
        {
            "item": stage.make.item.name,
            "grade": stage.make.grade,
            "ratio": stage.offer.ratio.text,
            "set": stage.direction,
            "lines": lines,
        }
        for stage, lines in chain.stages
    ]
