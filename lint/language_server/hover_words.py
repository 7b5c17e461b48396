"""What is said of an item, a quantity, a ratio, a rule and a blueprint, in Markdown."""

from collections.abc import Iterator, Mapping

from lineshaft.api import Measure
from lineshaft.check.broken_rule import BrokenRule
from lineshaft.check.registry import complete_registry
from lineshaft.check.rulebook import load_rule
from lineshaft.language_server.quantity_keys import QUANTITY_OF_KEY
from lineshaft.schema.model.catalogue import Catalogue, Item, Needs
from lineshaft.schema.quantities.quantity import BadQuantity, quantity
from lineshaft.schema.quantities.ratio import ratio
from lineshaft.schema.quantities.units import LISTED
from lineshaft.schema.text.tree import Tree
from lineshaft.write.markdown import code
from lineshaft.write.shown_units import Units, figures, measure


def item_words(catalogue: Catalogue, item: Item, units: Units) -> str:
    """An item: what it is, comes in, may carry, needs and is made of."""
    rows = [f"**{code(item.name)}** {item.kind}"]
    if item.ratios:
        ratios = ", ".join(offer.ratio.text for offer in item.ratios)
        rows.append(f"- ratios {code(ratios)}, delivered {item.delivered}")
    rows += [f"- {line}" for line in _limits(catalogue, item, units)]
    for name, asked in (("needs", item.needs), ("stands", item.limits)):
        said = _three(asked, units)
        if said:
            rows.append(f"- {name} {said}")
    if item.made_of:
        goods = ", ".join(f"{count} {name}" for name, count in item.made_of.items())
        rows.append(f"- made of {code(goods)}")
    return "\n".join([rows[0], "", *rows[1:]])


def _limits(catalogue: Catalogue, item: Item, units: Units) -> Iterator[str]:
    """What it may carry: its own limits, or those of each grade that it comes in."""
    own = _three(Needs(item.torque_limit, item.speed_limit), units)
    if own:
        yield f"may carry {own}"
    for name in item.grades:
        grade = catalogue.grades.get(name)
        if grade is not None:
            said = _three(Needs(grade.torque_limit, grade.speed_limit), units)
            yield f"in {code(name)}: may carry {said or 'anything'}"


def _three(asked: Needs, units: Units) -> str:
    said = ((asked.torque, "N*m"), (asked.speed, "rad/s"), (asked.power, "W"))
    return ", ".join(measure(Measure(value, unit), units) for value, unit in said if value is not None)


def quantity_words(key: str, written: object) -> str | None:
    """A quantity in each of its units; none where it is no quantity, or cannot be read."""
    kind = QUANTITY_OF_KEY.get(key)
    value = None if kind is None or not isinstance(written, str) else quantity(written, kind)
    if kind is None or value is None or isinstance(value, BadQuantity):
        return None
    return "\n".join(f"- {figures(value / unit.factor)} {unit.symbol}" for unit in LISTED[kind])


def ratio_words(written: object) -> str | None:
    """A ratio as it is, in lowest terms, and what a stage of it does either way; none where it is not one."""
    found = ratio(written) if isinstance(written, str | int | float) else None
    if found is None or isinstance(found, BadQuantity):
        return None
    lowest = f"{found.value.numerator} : {found.value.denominator}"
    times = figures(found.factor)
    ways = f"- reducing: torque × {times}, speed ÷ {times}\n- increasing: the other way"
    return f"{code(found.text)} is {lowest}\n\n{ways}"


def rule_words(name: str) -> str | None:
    """A rule's page; none where there is no such rule."""
    entry = next((entry for entry in complete_registry().rules if entry.id == name), None)
    rule = None if entry is None else load_rule(entry)
    if rule is None or isinstance(rule, BrokenRule):
        return None
    return f"**{code(rule.id)}** {rule.level}\n\n{rule.page.strip()}"


def blueprint_words(tree: Tree, units: Units) -> str:
    """A blueprint: what it takes, what its inlets promise to stand, what it hands on."""
    data = tree.data if isinstance(tree.data, dict) else {}
    rows = [f"**{code(str(data.get('name') or tree.source.path.name))}** blueprint", ""]
    for name, taken in _mapping(data.get("takes")).items():
        default = _mapping(taken).get("default")
        said = "has to be given" if default is None else f"{code(str(default))} if not given"
        rows.append(f"- takes {code(name)} ({code(str(_mapping(taken).get('kind')))}): {said}")
    for name, promised in _mapping(data.get("inlets")).items():
        limits = ", ".join(str(value) for value in _mapping(promised).values())
        rows.append(f"- inlet {code(name)}: stands up to {code(limits)}")
    outlets = ", ".join(_mapping(data.get("outlets")))
    if outlets:
        rows.append(f"- outlets {code(outlets)}")
    return "\n".join(rows)


def _mapping(value: object) -> Mapping[str, object]:
    return value if isinstance(value, dict) else {}
