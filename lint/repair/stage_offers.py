"""What a catalogue offers for a line: its stages in every version, splitters and combiners for lines side by side."""

from collections.abc import Iterator

from lineshaft.bill_of_materials import worth_each
from lineshaft.repair.chain import Branching, Pole, Stage
from lineshaft.repair.chain_search import MOST_WAYS
from lineshaft.schema.model.catalogue import Catalogue, Direction, Item
from lineshaft.schema.model.policy import HOUSE_DEFAULTS, Policy

_DIRECTIONS: tuple[Direction, ...] = ("increase", "reduce")


def stages_of(catalogue: Catalogue, policy: Policy = HOUSE_DEFAULTS) -> tuple[Stage, ...]:
    """Every gear stage in every grade, ratio and direction, but those of grades that the policy forbids."""
    found = []
    for item in catalogue.items.values():
        if item.kind != "gear-stage":
            continue
        for grade, torque, speed in _versions(item, catalogue, policy):
            for offer in item.ratios:
                worth = worth_each(offer.made_of, catalogue)
                found += [
                    Stage(item.name, grade, offer.ratio, direction, item.efficiency, torque, speed, worth)
                    for direction in _DIRECTIONS
                ]
    return tuple(found)


def branchings_of(catalogue: Catalogue, policy: Policy = HOUSE_DEFAULTS) -> tuple[Branching, ...]:
    """Every splitter that shares evenly with every combiner for as many lines, few lines first."""
    items = catalogue.items.values()
    splitters = [(item, pole) for item in items for pole in _poles(item, "splitter", catalogue, policy)]
    combiners = [(item, pole) for item in items for pole in _poles(item, "combiner", catalogue, policy)]
    return tuple(
        Branching(ways, split, combine)
        for ways in range(2, MOST_WAYS + 1)
        for splitter, split in splitters
        if shares_evenly(splitter, ways)
        for combiner, combine in combiners
        if combiner.inlets in (None, ways)
    )


def shares_evenly(splitter: Item, ways: int) -> bool:
    """Whether a splitter may have so many outlets with like shares."""
    if splitter.outlets not in (None, ways):
        return False
    return splitter.shares is None or any(len(row) == ways and len(set(row)) == 1 for row in splitter.shares)


def _poles(item: Item, kind: str, catalogue: Catalogue, policy: Policy) -> Iterator[Pole]:
    if item.kind == kind:
        worth = worth_each(item.made_of, catalogue)
        for grade, torque, speed in _versions(item, catalogue, policy):
            yield Pole(item.name, grade, item.efficiency, torque, speed, worth)


def _versions(
    item: Item, catalogue: Catalogue, policy: Policy
) -> Iterator[tuple[str, float | None, float | None]]:
    """Grade (empty where there is no choice), torque limit [N*m] and speed limit [rad/s] of each version."""
    for name in item.grades or ("",):
        if name in policy.forbidden_grades:
            continue
        grade = catalogue.grades.get(name)
        torque = item.torque_limit if item.torque_limit is not None or grade is None else grade.torque_limit
        speed = item.speed_limit if item.speed_limit is not None or grade is None else grade.speed_limit
        yield name if item.chooses_grade else "", torque, speed
