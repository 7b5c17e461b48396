"""Two editions of a catalogue: which ratings changed, which touch a rig, and an edition with one of them undone."""

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from types import MappingProxyType
from typing import Any, Literal, NamedTuple

from lineshaft.schema.model.catalogue import Catalogue, HeadTable, OfferedRatio, Work
from lineshaft.schema.model.rig import Part
from lineshaft.solve.limits import EQUAL

Section = Literal["grades", "items", "components", "raw"]
_SECTIONS: tuple[Section, ...] = ("grades", "items", "components", "raw")
_MEASURED: Mapping[str, tuple[str, str]] = {
    "torque_limit": ("torque limit", "N*m"),
    "speed_limit": ("speed limit", "rad/s"),
    "efficiency": ("efficiency", "1"),
    "needs.torque": ("torque need", "N*m"),
    "needs.speed": ("speed need", "rad/s"),
    "needs.power": ("power need", "W"),
    "limits.torque": ("torque limit", "N*m"),
    "limits.speed": ("speed limit", "rad/s"),
    "limits.power": ("power limit", "W"),
    "source.torque": ("torque", "N*m"),
    "source.speed": ("speed", "rad/s"),
    "source.flow": ("flow", "m^3/s"),
    "source.efficiency": ("efficiency", "1"),
    "source.density": ("density", "kg/m^3"),
    "lubricant.holds": ("lubricant held", "L"),
    "lubricant.uses": ("lubricant use", "L/s"),
    "makes.amount": ("lubricant made", "L"),
    "outlets": ("outlets", "1"),
    "inlets": ("inlets", "1"),
    "yields": ("yield", "1"),
}
_SAID: Mapping[str, str] = {
    "chooses_grade": "choice of grade",
    "made_of": "goods",
    "source": "output",
    "work": "work table",
}
Value = float | str | None


class Rating(NamedTuple):
    """One rating that differs: of what, which, its values in SI with their unit, or in words where ``unit`` is empty.

    ``field`` is empty where the whole entry is only in one edition; its values say in which.
    """

    section: Section
    name: str
    field: str
    what: str
    old: Value
    new: Value
    unit: str = ""

    @property
    def words(self) -> str:
        """For example `cast-iron torque limit`."""
        return f"{self.name} {self.what}" if self.what else self.name


def changed_ratings(old: Catalogue, new: Catalogue) -> tuple[Rating, ...]:
    """Every rating that differs between two editions, in the order of the new catalogue; what is gone last."""
    return tuple(rating for section in _SECTIONS for rating in _changed_in(section, old, new))


def _changed_in(section: Section, old: Catalogue, new: Catalogue) -> Iterator[Rating]:
    before: Mapping[str, Any] = getattr(old, section)
    after: Mapping[str, Any] = getattr(new, section)
    for name, entry in after.items():
        if name not in before:
            yield Rating(section, name, "", "", "not there", "there")
        elif isinstance(entry, float):
            if not _equal(before[name], entry):
                yield Rating(section, name, "worth", "worth", before[name], entry, "1")
        else:
            yield from _changed_fields(section, name, before[name], entry)
    for name in before:
        if name not in after:
            yield Rating(section, name, "", "", "there", "not there")


def _changed_fields(section: Section, name: str, old: Any, new: Any, above: str = "") -> Iterator[Rating]:
    """The fields of an entry that differ; those of its parts where both have the same kind of part."""
    for field in new._fields:
        before, after = getattr(old, field), getattr(new, field)
        path = f"{above}{field}"
        if _equal(before, after) or field == "name":
            continue
        inside = hasattr(after, "_fields") and type(before) is type(after) and not isinstance(after, Work | HeadTable)
        if inside and not above:
            yield from _changed_fields(section, name, before, after, f"{field}.")
        elif path in _MEASURED:
            what, unit = _MEASURED[path]
            yield Rating(section, name, path, what, before, after, unit)
        else:
            was, now, goods = _in_words(before, after)
            said = "goods" if goods else _SAID.get(path, path.replace("_", " ").replace(".", " "))
            yield Rating(section, name, path, said, was, now)


def _equal(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= EQUAL * max(abs(one), abs(other))
    if isinstance(one, tuple) and type(one) is type(other) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(_equal, one, other))
    return one == other


def _in_words(old: object, new: object) -> tuple[str, str, bool]:
    """Both values in words; ratios with their goods, and so said, where they differ in nothing else."""
    before, after = _words(old), _words(new)
    if before != after:
        return before, after, False
    return _words(old, goods=True), _words(new, goods=True), True


def _words(value: object, *, goods: bool = False) -> str:
    match value:
        case None:
            return "none"
        case bool():
            return "yes" if value else "no"
        case int() | float():
            return f"{value:g}"
        case OfferedRatio(ratio, made_of):
            return f"{ratio.text} {_words(made_of)}" if goods else ratio.text
        case Work(unit, times, between):
            return ", ".join(f"{unit} in {time:g} s at {speed:g} rad/s" for speed, time in times) + f", {between}"
        case HeadTable(points):
            return ", ".join(f"{head:g} m: {torque:g} N·m at {speed:g} rad/s" for head, torque, speed in points)
        case Mapping():
            return "{" + ", ".join(f"{name}: {number}" for name, number in value.items()) + "}"
        case tuple():
            fields = getattr(value, "_fields", None)
            if fields is not None:
                return ", ".join(f"{field} {_words(inner)}" for field, inner in zip(fields, value, strict=True))
            return ", ".join(_words(inner, goods=goods) for inner in value) or "none"
    return str(value)


def touching(ratings: Iterable[Rating], parts: Sequence[Part], goods: frozenset[str]) -> tuple[Rating, ...]:
    """The ratings that touch some parts: of their items, their grades, and of the goods they are made of in the end."""
    items, grades = {part.item.name for part in parts}, {part.grade.name for part in parts if part.grade is not None}
    names: Mapping[Section, Set[str]] = {"items": items, "grades": grades, "components": goods, "raw": goods}
    return tuple(rating for rating in ratings if rating.name in names[rating.section])


def undone(new: Catalogue, old: Catalogue, rating: Rating) -> Catalogue:
    """The new edition with one rating as it was in the old one."""
    entries: dict[str, Any] = dict(getattr(new, rating.section))
    was = getattr(old, rating.section).get(rating.name)
    if not rating.field:
        entries.pop(rating.name, None)
    if rating.field and not isinstance(was, float):
        entries[rating.name] = _with_field(entries[rating.name], was, rating.field.split("."))
    elif was is not None:
        entries[rating.name] = was
    changed: dict[str, Any] = {rating.section: MappingProxyType(entries)}
    return new._replace(**changed)


def _with_field(entry: Any, was: Any, path: list[str]) -> Any:
    field, *inner = path
    value = getattr(was, field)
    return entry._replace(**{field: _with_field(getattr(entry, field), value, inner) if inner else value})
