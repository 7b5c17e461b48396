"""The steps of a rig's start-up."""

from collections.abc import Iterable, Mapping
from typing import cast

from lineshaft.schema.model.catalogue import Direction
from lineshaft.schema.model.rig import Part, Step, StepKind
from lineshaft.schema.read.fields import Fields, Mapped, mapping
from lineshaft.schema.read.part_index import PartIndex
from lineshaft.schema.read.part_reader import known_part
from lineshaft.schema.text.span import Route
from lineshaft.schema.text.tree import Plain

_WANTED: Mapping[str, tuple[str, ...]] = {
    "start": ("prime-mover",),
    "stop": ("prime-mover",),
    "engage": ("clutch",),
    "disengage": ("clutch",),
}
_KINDS: tuple[StepKind, ...] = ("fill", "set", "couple", "engage", "disengage", "start", "stop")


def read_steps(
    fields: Fields, entries: Iterable[tuple[int, Plain]], parts: tuple[Part, ...], index: PartIndex
) -> tuple[Step, ...]:
    """Commissioning steps, each with its position in the list (from 0); one with a fault is noted and left out."""
    found = []
    for number, entry in entries:
        step = _step(fields, mapping(entry), number, parts, index)
        if step is not None:
            found.append(step)
    return tuple(found)


def _step(fields: Fields, data: Mapped, number: int, parts: tuple[Part, ...], index: PartIndex) -> Step | None:
    kind = next(kind for kind in _KINDS if kind in data)
    inner: Route = ("commissioning", number, kind)
    detail = mapping(data[kind])
    where: Route = (*inner, "part") if detail else inner
    part = known_part(fields, detail.get("part") if detail else data[kind], where, index)
    amount = fields.quantity(detail, inner, "with", "volume", zero=True) if kind == "fill" else None
    if part is None:
        return None
    item = parts[part].item
    wanted = _WANTED.get(kind)
    if item.kind != "unknown":
        if wanted is not None and item.kind not in wanted:
            message = f"{parts[part].name} is a {item.kind}; `{kind}` is for a {wanted[0]}"
            fields.bad("unknown-reference", where, message)
            return None
        if kind == "set" and not item.is_stage:
            message = f"{parts[part].name} is a {item.kind} without a direction; `set` is for stages"
            fields.bad("unknown-reference", where, message)
            return None
    to = cast("Direction | None", detail.get("to")) if kind == "set" else None
    return Step(number + 1, kind, part, fields.tree, ("commissioning", number), to, amount or 0.0)
