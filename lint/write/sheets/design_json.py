"""Designs as JSON, `lineshaft-design/1`: its published form, kept apart from the types inside."""

from lineshaft import __version__
from lineshaft.design.front import Shown
from lineshaft.design.plan import Designs
from lineshaft.solve.solved_rig import SolvedRig
from lineshaft.write.findings_json import repair_document
from lineshaft.write.json_text import json_text
from lineshaft.write.sheets.stock_bill import stock_document
from lineshaft.write.shown_units import words

FORMAT = "lineshaft-design/1"


def design_json(rig: SolvedRig, found: Designs) -> bytes:
    """One document: what is to be driven by what, the designs, how the search ended, why there is none."""
    document = {
        "format": FORMAT,
        "version": __version__,
        "file": rig.file,
        "machines": [rig.parts[machine.part].name for machine in found.wish.machines],
        "sources": [
            _source(rig, number, outlet, torque, speed) for number, outlet, torque, speed in found.wish.sources
        ],
        "complete": found.complete,
        "rates_complete": found.raised,
        "designs": [_design(one, found) for one in found.shown],
        "no_design": words(found.reason) if found.reason and not found.shown else None,
    }
    return json_text(document)


def _source(rig: SolvedRig, number: int, outlet: int, torque: float, speed: float) -> dict[str, object]:
    part = rig.parts[number]
    name = f"{part.name}.{part.outlets[outlet]}" if part.outlets else part.name
    return {"outlet": name, "torque": torque, "speed": speed, "power": torque * speed}


def _design(one: Shown, found: Designs) -> dict[str, object]:
    proposal = one.proposal
    document: dict[str, object] = {
        "shown_for": [kind.replace(" ", "-") for kind in one.kinds],
        "parts_added": proposal.repair.parts_added,
        "margin": proposal.margin,
        "runs_dry_after": proposal.lasts,
        "machines": [{"part": name, "rate": rate} for name, rate in proposal.rates],
        "repair": repair_document(proposal.repair),
        "text": proposal.text,
    }
    if proposal.owned is not None and found.stock is not None:
        document["stock"] = stock_document(proposal.rig, proposal.owned, found.stock.tree.source.shown)
    return document
