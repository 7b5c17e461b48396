"""A third party's rule, installed for one run: a distribution's folder on the import path, as `pip` would leave it."""

import os
import sys
from pathlib import Path

HEAD = """from lineshaft.api import Rule


def check(rig):
    {body}
    yield from ()


RULE = Rule("planted", "error", check)
"""


def planted(folder: Path, body: str) -> dict[str, str]:
    """The environment in which a rule with this body is registered."""
    info = folder / "planted-1.0.dist-info"
    info.mkdir(parents=True)
    (info / "entry_points.txt").write_text("[lineshaft.rules]\nplanted = planted_rule_code:RULE\n", "utf-8")
    (folder / "planted_rule_code.py").write_text(HEAD.format(body=body.replace("\n", "\n    ")), "utf-8")
    return {**os.environ, "PYTHONPATH": str(folder)}


COMMAND = (sys.executable, "-P", "-m", "lineshaft", "check", "--no-cache")
