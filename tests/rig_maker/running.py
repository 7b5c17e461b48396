"""How a rig is put to work: circuits, then fills, directions, couplings, and last of all the prime movers."""

from random import Random
from typing import Any

from rig_maker.plan import PlannedPart
from rig_maker.stock import STAGE_OF

_HOUR = 3600.0  # s; what circuits and fills must last at least


def circuits_of(
    train: list[PlannedPart], prefix: str, items: dict[str, dict[str, Any]], rng: Random
) -> dict[str, Any]:
    """Charged circuits for some of a train's stages; a press of the train supplies its own lubricant's."""
    found: dict[str, Any] = {}
    for lubricant in ("flax-oil", "lamp-oil"):
        stages = [p for p in train if p.item in STAGE_OF and STAGE_OF[p.item].lubricant == lubricant]
        fed = [p for p in stages if rng.random() < 0.5]
        if not fed or rng.random() < 0.4:
            continue
        charge = round(sum(STAGE_OF[p.item].uses for p in fed) * _HOUR * rng.uniform(1.2, 4), 3)
        tank = {"holds": f"{round(charge * 1.5, 3)} L", "charge": f"{charge} L"}
        circuit: dict[str, Any] = {"lubricant": lubricant, "tank": tank}
        press = [
            p.name for p in train if items.get(p.item, {}).get("makes", {}).get("lubricant") == lubricant
        ]
        if press:
            circuit["supplied-by"] = press[0]
        circuit["feeds"] = [p.name for p in fed]
        found[f"{prefix}{lubricant}"] = circuit
    return found


def before_start(train: list[PlannedPart], circuits: dict[str, Any], rng: Random) -> list[dict[str, Any]]:
    """The steps that a train needs before it may turn, in any order."""
    fed = {name for circuit in circuits.values() for name in circuit["feeds"]}
    steps: list[dict[str, Any]] = []
    for part in train:
        stage = STAGE_OF.get(part.item)
        if stage is not None:
            if stage.lubricant and part.name not in fed:
                amount = round(rng.uniform(stage.uses * _HOUR * 1.1, stage.holds), 3)
                steps.append({"fill": {"part": part.name, "with": f"{amount} L"}})
            if part.direction != stage.delivered:
                steps.append({"set": {"part": part.name, "to": part.direction}})
        elif part.kind == "shaft" and rng.random() < 0.1:
            steps.append({"couple": part.name})
    return steps


def starts(train: list[PlannedPart]) -> list[dict[str, Any]]:
    """The steps that start a train's prime movers."""
    return [{"start": part.name} for part in train if part.kind == "prime-mover"]
