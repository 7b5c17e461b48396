"""The policy that holds for a file: its policy, the loader that reads by it, and the rules that are on."""

from fnmatch import fnmatchcase
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from lineshaft.check.registry import registry
from lineshaft.check.rulebook import NEVER_OFF, Rulebook, open_rulebook
from lineshaft.exits import CannotDoError
from lineshaft.schema.loading import Loader
from lineshaft.schema.model.catalogue import Catalogue
from lineshaft.schema.model.policy import HOUSE_DEFAULTS, Policy
from lineshaft.schema.read.policy_reader import read_policy
from lineshaft.schema.text.faults import at_key, at_value
from lineshaft.schema.text.repository import Refusal
from lineshaft.schema.text.span import TOP
from lineshaft.schema.text.tree import Tree

if TYPE_CHECKING:  # most files have none
    from lineshaft.schema.text.fault import Fault


class BadPolicyError(CannotDoError):
    """A policy, in ``file``, that cannot be used; ``faults`` say why, at their places. Its files stay unjudged."""

    def __init__(self, file: Path, faults: tuple["Fault", ...]) -> None:
        super().__init__(_words(faults[0]))
        self.file, self.faults = file, faults


class ResolvedPolicy(NamedTuple):
    """What holds for the files of one root under one policy; ``folder`` is the policy's."""

    policy: Policy
    folder: Path | None
    loader: Loader
    book: Rulebook

    def excludes(self, path: Path) -> bool:
        """Whether the policy leaves a file out; its patterns are relative to its own folder."""
        if self.folder is None or not path.is_relative_to(self.folder):
            return False
        name = path.relative_to(self.folder).as_posix()
        return any(fnmatchcase(name, pattern) for pattern in self.policy.exclude)


def resolved_policy_of(loader: Loader, file: Path | None, book: Rulebook) -> ResolvedPolicy:
    """What holds by a policy file; without one the program's own defaults.

    Raises BadPolicyError where the policy, or the catalogue it names, cannot be used: no verdict would be by it.
    """
    if file is None:
        return ResolvedPolicy(HOUSE_DEFAULTS, None, loader, book)
    tree = loader.tree(file, "policy")
    if isinstance(tree, tuple):
        raise BadPolicyError(file, tree)
    policy, faults = read_policy(tree)
    faults = faults or _no_rules(tree, policy)
    if faults:
        raise BadPolicyError(file, faults)
    if policy.catalogue is not None:
        found = loader.repository.include(file, policy.catalogue)
        if isinstance(found, Refusal):
            message = f"the catalogue {policy.catalogue[:80]} {found.message}"
            raise BadPolicyError(file, (at_value("unknown-reference", tree, ("catalogue",), message),))
        loader = loader.with_catalogue(found)
        faults = _no_grades(tree, policy, loader.catalogue(found)[0])
        if faults:
            raise BadPolicyError(file, faults)
    if book.rules and (policy.levels or policy.kind_levels):
        book = open_rulebook(policy.levels, policy.kind_levels)
    return ResolvedPolicy(policy, file.parent, loader, book)


def _no_rules(tree: Tree, policy: Policy) -> tuple["Fault", ...]:
    """What `levels` cannot say: names of no rule, for which the level would hold for nothing, and `off` for some."""
    if not policy.levels and not policy.kind_levels:
        return ()
    known = registry().ids
    faults = []
    for name, level in (*policy.levels.items(), *((name, "") for name in policy.kind_levels)):
        if name in NEVER_OFF and level == "off":
            message = f"`{name}` cannot be turned off: what is not judged never passes in silence"
            faults.append(at_value("not-schema", tree, ("levels", name), message))
        elif name not in known:
            from lineshaft.schema.text.nearest import nearest

            near = nearest(name, known)
            hint = f"did you mean {near[0]}?" if near else "`lineshaft rules` lists them all"
            message = f"there is no rule `{name[:60]}`; {hint}"
            faults.append(at_key("not-schema", tree, ("levels", name), message))
    return tuple(faults)


def two_policies(loader: Loader, one: Path, other: Path) -> BadPolicyError:
    """That a folder has a policy under each of its two names: which one holds is for nobody to guess."""
    shown = loader.repository.shown
    message = f"{shown(other)} stands in the same folder; only one policy holds there, so remove one of them"
    from lineshaft.schema.text.fault import Fault

    return BadPolicyError(one, (Fault("not-schema", shown(one), TOP, (), message),))


def _no_grades(tree: Tree, policy: Policy, catalogue: Catalogue | None) -> tuple["Fault", ...]:
    """The forbidden grades that its catalogue does not have: with a slip of the pen none would be forbidden."""
    if catalogue is None:  # which is told where a rig uses it
        return ()
    from lineshaft.schema.text.nearest import nearest

    faults = []
    for number, name in enumerate(policy.forbidden_grades):
        if name not in catalogue.grades:
            near = nearest(name, catalogue.grades)
            hint = f"; did you mean {near[0]}?" if near else ""
            message = f"{catalogue.tree.source.shown} has no grade {name[:60]!r}{hint}"
            faults.append(at_value("unknown-reference", tree, ("grades", "forbidden", number), message))
    return tuple(faults)


def _words(fault: "Fault") -> str:
    start = fault.span.start
    return f"{fault.file} line {start.line}, column {start.column}: {fault.message}"
