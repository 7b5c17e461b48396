"""A blueprint under repair with all that uses it: opened, and which rigs a repair of it touches, in words."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from lineshaft.check.blueprint_users import blueprint_users
from lineshaft.check.judged_finding import Repair
from lineshaft.check.rulebook import open_rulebook
from lineshaft.commands.one_rig import checker
from lineshaft.exits import CannotDoError
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.repair.proof.effect import machine_changes
from lineshaft.write.shown_units import rates

_NAMED = 5  # files that use a blueprint and are named; the rest is counted


def blueprint_in_use(name: str, day: date) -> RepairContext:
    """The blueprint in the file ``name``, judged alone, and everything in its repository that uses it.

    What a policy leaves out is left out. Raises CannotDoError where there is no such file, or too many to search.
    """
    path = Path(name)
    if not path.is_file():
        raise CannotDoError(f"{name!r} does not exist, or is not a file")
    made = checker(open_rulebook(), day)
    resolved = made.resolved(path.parent.resolve() / path.name)
    real = resolved.loader.repository.real(path.parent.resolve() / path.name)
    loaded = resolved.loader.blueprint_alone(real)
    users = blueprint_users(made, real)
    return open_repair_context(resolved.loader, loaded, resolved.book, resolved.policy, day, users)


def users_in_words(context: RepairContext) -> str:
    """What uses a blueprint: rigs by name, the rest counted."""
    names = sorted(user.rig.file for user in context.users)
    if not names:
        return f"{context.rig.file} is used by nothing in its repository: repairs are proved on it alone"
    more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
    used = f"{context.rig.file} is used by {', '.join(names[:_NAMED])}{more}"
    return f"{used}: repairs are proved in all of them; cost and bill are those of one use"


def touched(context: RepairContext, repair: Repair) -> str:
    """What a repair of a blueprint does to the machines of each rig that uses it, before and after."""
    edited_rig = context.whole_edited_rig(repair.edits)
    if edited_rig is None or not context.users:
        return "none"
    return "; ".join(_changes(context, list(context.users_after(edited_rig)))) or "as before"


def _changes(context: RepairContext, after: list[RepairContext]) -> Iterator[str]:
    for user, now in sorted(zip(context.users, after, strict=True), key=lambda pair: pair[0].rig.file):
        changes = machine_changes(user.rig, now.rig)
        if changes and not user.rig.rig.placed.alone:
            yield f"{user.rig.file}: {', '.join(rates(change) for change in changes)}"
