"""A rig and a catalogue from text, planned for in a folder of their own; any repair proved by the public command."""

import json
from pathlib import Path

from command_runner import run

from lineshaft.check.judged_finding import Repair
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.plan.planner import Plan, plan
from lineshaft.repair.proof.context import RepairContext, open_repair_context
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository


def workshop_of(folder: Path, catalogue: str, rig: str) -> RepairContext:
    """Both texts written as `checker.catalogue.yaml` and `checker.rig.yaml`, and the context for the rig."""
    (folder / "bench.catalogue.yaml").write_text(catalogue, encoding="utf-8", newline="")
    path = folder / "bench.rig.yaml"
    path.write_text(rig, encoding="utf-8", newline="")
    loader = Loader(Repository(folder.resolve(), folder.resolve()))
    return open_repair_context(loader, loader.rig(path.resolve()), open_rulebook())


def plan_for(context: RepairContext, rule: str, part: str | None = None) -> Plan:
    """The plan for the one finding of a rule."""
    found = [f for f in context.findings if f.rule == rule and part in (None, f.part)]
    assert len(found) == 1, [(f.rule, f.part) for f in context.findings]
    return plan(context, found[0])


def edited(context: RepairContext, repair: Repair) -> str:
    """The rig's text with a repair made: each span cut out and written anew, last one first."""
    source = context.rig.rig.tree.source
    text = source.text
    for edit in sorted(repair.edits, key=lambda e: (e.span, e.text), reverse=True):
        start, end = source.index(edit.span.start), source.index(edit.span.end)
        text = text[:start] + edit.text + text[end:]
    return text


def checked(folder: Path, rig: str) -> set[tuple[str, str | None]]:
    """What `lineshaft check` finds in a rig's text beside the catalogue: rules and parts."""
    path = folder / "proved.rig.yaml"
    path.write_text(rig, encoding="utf-8", newline="")
    ran = run(folder, "check", "--no-repairs", "--no-cache", "--write", "json=-", path.name)
    assert ran.returncode in (0, 1), ran.stderr
    return {(f["rule"], f["part"]) for f in json.loads(ran.stdout)["findings"]}
