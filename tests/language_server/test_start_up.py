"""Who does not edit pays nothing for the language server, and who lacks its extra is told what to install."""

import ast
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
OF_THE_SERVER = ("pygls", "lsprotocol", "cattrs", "attrs", "asyncio")


def test_a_check_loads_nothing_of_the_server(works: Path) -> None:
    """Of a rig with a finding, its repairs and all."""
    ask = (
        "import sys\nfrom lineshaft.cli import run\n"
        "run(['check', '--no-cache', '--quiet', 'overloaded-step.rig.yaml'])\n"
        f"print([name for name in {OF_THE_SERVER!r} if name in sys.modules], file=sys.stderr)\n"
    )
    ran = subprocess.run([sys.executable, "-P", "-c", ask], cwd=works, capture_output=True, text=True, timeout=60)
    assert ran.stderr == "[]\n"


def test_only_the_server_knows_the_protocol() -> None:
    """Its libraries are imported in its own package and nowhere else."""
    found = set()
    for folder in ("lint", "rules", "schema"):
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
                names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
                if any(name.split(".")[0] in ("pygls", "lsprotocol") for name in names):
                    found.add(path.parent.relative_to(ROOT).as_posix())
    assert found == {"lint/language_server"}


def test_without_its_extra_it_says_what_to_install(works: Path) -> None:
    """One line, exit 2, no traceback."""
    ask = "import sys\nsys.modules['pygls'] = None\nfrom lineshaft.cli import run\nsys.exit(run(['lsp', '--stdio']))\n"
    ran = subprocess.run([sys.executable, "-P", "-c", ask], cwd=works, capture_output=True, text=True, timeout=60)
    assert ran.returncode == 2
    assert ran.stderr == "lineshaft: the language server needs the extra `editor`: pip install 'lineshaft[editor]'\n"
