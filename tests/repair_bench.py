"""A rig and a catalogue from text, planned for in a folder of their own; any repair proved by the public command."""

import json
import subprocess
import sys
from pathlib import Path

from lineshaft.check.finding import Repair
from lineshaft.check.rulebook import open_rulebook
from lineshaft.repair.planner import Plan, plan
from lineshaft.repair.proof import Workshop, open_workshop
from lineshaft.schema.loading import Loader
from lineshaft.schema.text.repository import Repository


def workshop_of(folder: Path, catalogue: str, rig: str) -> Workshop:
    """Both texts written as `checker.catalogue.yaml` and `checker.rig.yaml`, and the workshop for the rig."""
    (folder / "bench.catalogue.yaml").write_text(catalogue, encoding="utf-8", newline="")
    path = folder / "bench.rig.yaml"
    path.write_text(rig, encoding="utf-8", newline="")
    loader = Loader(Repository(folder.resolve(), folder.resolve()))
    return open_workshop(loader, loader.rig(path.resolve()), open_rulebook())


def plan_for(workshop: Workshop, rule: str, part: str | None = None) -> Plan:
    """The plan for the one finding of a rule."""
    found = [f for f in workshop.findings if f.rule == rule and part in (None, f.part)]
    assert len(found) == 1, [(f.rule, f.part) for f in workshop.findings]
    return plan(workshop, found[0])


def edited(workshop: Workshop, repair: Repair) -> str:
    """The rig's text with a repair made: each span cut out and written anew, last one first."""
    source = workshop.rig.rig.tree.source
    text = source.text
    for edit in sorted(repair.edits, key=lambda e: (e.span, e.text), reverse=True):
        start, end = source.index(edit.span.start), source.index(edit.span.end)
        text = text[:start] + edit.text + text[end:]
    return text


def checked(folder: Path, rig: str) -> set[tuple[str, str | None]]:
    """What `lineshaft check` finds in a rig's text beside the catalogue: rules and parts."""
    path = folder / "proved.rig.yaml"
    path.write_text(rig, encoding="utf-8", newline="")
    command = [sys.executable, "-P", "-m", "lineshaft", "check", "--no-repairs", "--no-cache", "--write", "json=-"]
    ran = subprocess.run([*command, path.name], cwd=folder, capture_output=True, text=True, timeout=60, check=False)
    assert ran.returncode in (0, 1), ran.stderr
    return {(f["rule"], f["part"]) for f in json.loads(ran.stdout)["findings"]}
