"""All that uses a blueprint, judged as it is now: what a repair of the blueprint has to leave whole."""

from pathlib import Path

from lineshaft.check.checker import Checker
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.run.dependents import users_of
from lineshaft.schema.loading import kind_of


def blueprint_users(checker: Checker, real: Path) -> tuple[RepairContext, ...]:
    """The rigs and blueprints of its repository that use the blueprint at a path, the smallest first.

    What a policy leaves out is left out. Raises CannotDoError where there are too many files to search.
    """
    found = users_of(checker, {real: "blueprint"})
    used = (_user(checker, user) for user in found if not checker.resolved(user).excludes(user))
    return tuple(sorted(used, key=lambda user: len(user.rig.parts)))  # those that are judged soonest first


def _user(checker: Checker, path: Path) -> RepairContext:
    resolved = checker.resolved(path)
    alone = kind_of(path) == "blueprint"
    loaded = (
        resolved.loader.blueprint_alone(resolved.loader.repository.real(path)) if alone else resolved.loader.rig(path)
    )
    return open_repair_context(resolved.loader, loaded, resolved.book, resolved.policy, checker.day)
