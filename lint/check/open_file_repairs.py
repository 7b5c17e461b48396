"""What mends a file that somebody writes, once they ask: repairs, settings, a start-up list, a machine's stages."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from lineshaft.check.checker import Checker
from lineshaft.check.effort import EFFORT_OF_CHECK
from lineshaft.check.finding import Edit, Text
from lineshaft.check.judged_finding import JudgedFinding, Repair, RepairedFinding, repaired
from lineshaft.check.open_files import Judgement
from lineshaft.check.rulebook import open_rulebook

if TYPE_CHECKING:  # loaded by who asks
    from lineshaft.repair.proof.context import RepairContext

Users: TypeAlias = "tuple[RepairContext, ...]"
"""What uses a blueprint, each judged as it is now."""


def repair_context(judgement: Judgement, users: Users = ()) -> "RepairContext | None":
    """A judged rig, or blueprint with all that uses it, ready to be changed in memory.

    None of other kinds, and where nothing could be solved.
    """
    from lineshaft.repair.proof.context import RepairContext

    found, resolved = judgement.inspected, judgement.resolved
    if judgement.kind not in ("rig", "blueprint") or found is None or resolved is None or not found.rig.parts:
        return None
    policy, _, loader, book = resolved
    loader = replace(loader, trees=None)  # texts that are tried take no room from those that are written
    return RepairContext(loader, found.loaded, found.rig, found.findings, book, policy, judgement.day, users)


def users_of(judgement: Judgement, texts: Mapping[Path, bytes]) -> Users:
    """All in the repository that uses a judged blueprint, with ``texts`` in place of the disk's; of a rig nothing.

    Raises CannotDoError where there are too many files to search.
    """
    from lineshaft.check.blueprint_users import blueprint_users

    if judgement.kind != "blueprint" or judgement.resolved is None or judgement.day is None:
        return ()
    repository = judgement.resolved.loader.repository
    checker = Checker(repository.working, open_rulebook(), day=judgement.day, texts=texts)
    return blueprint_users(checker, repository.real(judgement.path))


def repairs_of(judgement: Judgement, finding: JudgedFinding, most: int, users: Users = ()) -> RepairedFinding:
    """A finding with at most so many repairs, each proved on the whole text; or with the reason for none.

    Those of a blueprint's finding are proved in its ``users`` too.
    """
    from lineshaft.repair.plan.fix_budget import offers

    context = repair_context(judgement, users)
    if context is None:
        return repaired(finding)
    made = offers(context, [finding], EFFORT_OF_CHECK, most)[0]
    return repaired(finding, made.repairs, made.no_repair)


def with_settings_mended(judgement: Judgement, users: Users = ()) -> str | None:
    """A text with all repairs made that hold together and change settings and misspelt names only.

    Those of a blueprint hold in its ``users`` too. None where there is no such repair.
    """
    from lineshaft.repair.plan.fix_all import Reach, fix_all
    from lineshaft.repair.plan.fix_budget import offers

    context = repair_context(judgement, users)
    if context is None:
        return None
    wanted = [finding for finding in context.findings if not finding.passes]
    fixed = fix_all(context, offers(context, wanted, up_to="setting"), Reach("setting"))
    return fixed.context.rig.rig.tree.source.text if fixed.applied else None


def safe_start_up(judgement: Judgement) -> Edit | None:
    """The edit that puts a safe commissioning list into a rig, proved: nothing that is found with it is new or worse.

    None where no order is safe, and where the file has such a list already.
    """
    from lineshaft.repair.edits.commissioning_block import block_splice
    from lineshaft.repair.proof.context import no_worse
    from lineshaft.schema.text.span import Span
    from lineshaft.solve.safe_list import Impassable, safe_list

    context = repair_context(judgement) if judgement.kind == "rig" else None
    proposed = None if context is None else safe_list(context.rig.train, context.rig.flows)
    if context is None or proposed is None or isinstance(proposed, Impassable):
        return None
    tree = context.rig.rig.tree
    splice = block_splice(tree, proposed.steps, context.rig.parts)
    span: Span = tree.source.span(splice.start, splice.end)
    edit = Edit(context.rig.file, span, splice.text)
    edited = context.whole_edited_rig((edit,))
    return edit if edited is not None and no_worse(context, edited) else None


def sizes_of(judgement: Judgement, machine: str) -> tuple[Repair, ...] | Text:
    """Proved chains of stages that give a machine of a rig what it needs, cheapest first; or why none does."""
    from lineshaft.repair.size import size
    from lineshaft.repair.size_reasons import wanted_at, why_none

    context = repair_context(judgement) if judgement.kind == "rig" else None
    number = None if context is None else context.rig.rig.index.get(machine)
    if context is None or number is None:
        return (f"{machine} is no part of a rig that can be solved",)
    wanted = wanted_at(context, number)
    if isinstance(wanted, str):
        return (wanted,)
    found = size(context, number, wanted)
    return tuple(each.repair for each in found.found) if found.found else why_none(context.rig, found)
