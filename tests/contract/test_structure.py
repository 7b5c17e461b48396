"""The house keeps its shape: imports go down only, rules stay pure, modules and functions stay small and documented."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = {"lineshaft": "lint", "lineshaft.rules": "rules", "lineshaft.schema": "schema"}
Sources = dict[str, str]  # dotted module name -> its text

RANKS = (  # lower rows see higher numbers never; within a row, one group does not see another; the longest name counts
    {"lineshaft.schema.text"},
    {"lineshaft.schema.quantities", "lineshaft.schema.validation"},
    {"lineshaft.schema.model"},
    {"lineshaft.schema.read"},
    {"lineshaft.schema.blueprint"},
    {"lineshaft.schema", "lineshaft.schema.loading", "lineshaft.documentation"},
    {"lineshaft.solve"},
    {"lineshaft.bill_of_materials", "lineshaft.audit", "lineshaft.changes.editions"},
    {"lineshaft.check", "lineshaft.stock_bill"},
    {"lineshaft.report_model"},
    {"lineshaft.repair.edits", "lineshaft.repair.line", "lineshaft.write"},
    {"lineshaft.repair.proof"},
    {"lineshaft.repair.strategies"},
    {"lineshaft.repair", "lineshaft.repair.plan"},
    {"lineshaft.audit.deviation_edits", "lineshaft.design", "lineshaft.exits"},
    {"lineshaft.audit.as_built", "lineshaft.changes.revision", "lineshaft.check.resolved_policy"},
    {"lineshaft.changes.impact", "lineshaft.changes.moved_rigs", "lineshaft.check.checker", "lineshaft.run.discovery"},
    {"lineshaft.check.open_files", "lineshaft.run.dependents"},
    {"lineshaft.check.blueprint_users"},
    {"lineshaft.check.open_file_repairs"},
    {"lineshaft.api"},
    {"lineshaft.testing"},
    {"lineshaft.check.snag_lists", "lineshaft.check.twins", "lineshaft.run", "lineshaft.write.sheets"},
    {"lineshaft.starters", "lineshaft.language_server"},
    {"lineshaft.commands"},
    {"lineshaft.cli"},
    {"lineshaft.__main__"},
)
RANK_OF = {group: rank for rank, groups in enumerate(RANKS) for group in groups}
VERSION = "lineshaft"  # the top module holds the version only, and imports nothing of ours

WRITE_SEES = (
    "lineshaft.write",
    "lineshaft.check.finding",
    "lineshaft.check.judged_finding",
    "lineshaft.check.level",
    "lineshaft.check.shared_causes",  # where one cause is one finding
    "lineshaft.check.shared_findings",  # where a fault of a blueprint is told once
    "lineshaft.schema.text.scalar_text",  # how a text is written as YAML
    "lineshaft.schema.text.span",
    "lineshaft.report_model.record",
    "lineshaft.report_model.build_sheet_record",
    "lineshaft.report_model.schematic_record",
)
RULES_SEE = ("lineshaft.api",)
EDITED = ("lineshaft.audit.as_built", "lineshaft.audit.deviation_edits")  # an explanation as edits, proved
ACCOUNTS_SEE = ("lineshaft.schema", "lineshaft.solve")  # what bills, readings and editions are reckoned from
NOT_FOR_RULES = {
    *("os", "sys", "io", "pathlib", "shutil", "tempfile", "subprocess", "socket", "urllib"),
    *("importlib", "builtins", "click"),
}
NOT_CALLED_BY_RULES = {"print", "open", "exit", "quit", "input", "eval", "exec", "__import__", "SystemExit"}
NAMELESS = {"util", "utils", "base", "common", "helper", "helpers"}


def _sources() -> Sources:
    found: Sources = {}
    for package, folder in FOLDERS.items():
        for path in sorted((ROOT / folder).rglob("*.py")):
            parts = path.relative_to(ROOT / folder).with_suffix("").parts
            name = ".".join((package, *parts)).removesuffix(".__init__")
            found[name] = path.read_text("utf-8")
    return found


@pytest.fixture(scope="module")
def sources() -> Sources:
    """Every module of the three folders under the name it is installed by."""
    return _sources()


def _within(name: str, *packages: str) -> bool:
    return any(name == package or name.startswith(package + ".") for package in packages)


@cache
def _tree(text: str) -> ast.Module:
    """A module's tree, for all that is asked of it."""
    return ast.parse(text)


def _imports(module: str, sources: Sources) -> Iterator[tuple[int, str]]:
    """Line and full name of each import, those inside functions too; the module's where ``from`` names one."""
    for node in ast.walk(_tree(sources[module])):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield node.lineno, inner if inner in sources else node.module


def _ours(module: str, sources: Sources) -> Iterator[tuple[int, str]]:
    return ((line, name) for line, name in _imports(module, sources) if _within(name, "lineshaft"))


def _group(module: str) -> str:
    """The longest name in the ranks that a module stands under; its own first two words where there is none."""
    parts = module.split(".")
    names = (".".join(parts[:many]) for many in range(len(parts), 1, -1))
    return next((name for name in names if name in RANK_OF), ".".join(parts[:2]))


def against_rank(sources: Sources) -> list[str]:
    """Imports that go up, or across between groups of one rank."""
    faults = []
    for module in sources:
        if _within(module, "lineshaft.rules") or module == VERSION:
            continue
        mine = _group(module)
        for line, name in _ours(module, sources):
            theirs = _group(name)
            version = name == VERSION and not _within(module, "lineshaft.schema")
            if theirs == mine or version or _within(name, "lineshaft.rules"):
                continue
            if RANK_OF.get(theirs, len(RANKS)) >= RANK_OF.get(mine, len(RANKS)):
                faults.append(f"{module}:{line} imports {name}")
    return faults


def sees_more(sources: Sources, package: str, seen: tuple[str, ...]) -> list[str]:
    """Imports of ours in ``package`` that are neither in ``seen`` nor the version."""
    inside = (module for module in sources if _within(module, package))
    return [
        f"{module}:{line} imports {name}"
        for module in inside
        for line, name in _ours(module, sources)
        if name != VERSION and not _within(name, *seen)
    ]


def impure(sources: Sources) -> list[str]:
    """What a rule does beyond reading the solved rig: modules of the machine, printing, opening, leaving."""
    faults = []
    for module in (name for name in sources if _within(name, "lineshaft.rules")):
        for line, name in _imports(module, sources):
            if name.split(".")[0] in NOT_FOR_RULES:
                faults.append(f"{module}:{line} imports {name}")
        for node in ast.walk(_tree(sources[module])):
            if isinstance(node, ast.Name) and node.id in NOT_CALLED_BY_RULES:
                faults.append(f"{module}:{node.lineno} uses {node.id}")
    return faults


def undocumented(sources: Sources) -> list[str]:
    """Modules, public classes, and public functions and methods of these that have no docstring."""
    faults = []
    for module, text in sources.items():
        tree = _tree(text)
        if not ast.get_docstring(tree):
            faults.append(module)
        if not module.rpartition(".")[2].startswith("_"):
            faults += _undocumented_in(tree, module)
    return faults


def _undocumented_in(node: ast.Module | ast.ClassDef, where: str) -> Iterator[str]:
    for inner in node.body:
        if not isinstance(inner, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) or inner.name.startswith("_"):
            continue
        name = f"{where}.{inner.name}"
        if not ast.get_docstring(inner):
            yield name
        if isinstance(inner, ast.ClassDef):
            yield from _undocumented_in(inner, name)


def test_imports_go_down_only(sources: Sources) -> None:
    """A module sees its own group and those of lower rank; the schema package sees nothing else of ours."""
    assert against_rank(sources) == []


def in_circles(sources: Sources) -> list[str]:
    """Modules of which each imports another of them, round to the first; imports inside functions count too."""
    left = {module: {name for _, name in _ours(module, sources) if name in sources} - {module} for module in sources}
    while free := [module for module, wanted in left.items() if not wanted & left.keys()]:
        for module in free:
            del left[module]
    while free := [module for module in left if not any(module in wanted for wanted in left.values())]:
        for module in free:
            del left[module]
    return sorted(left)


def test_no_imports_go_in_a_circle(sources: Sources) -> None:
    """Two modules that import each other, at whatever depth of a function, are one module in two files."""
    assert in_circles(sources) == []


def test_every_top_module_has_a_rank(sources: Sources) -> None:
    """Whoever adds a module or package beside the others in lint/ says where it stands."""
    groups = {_group(module) for module in sources} - {VERSION, "lineshaft.rules", "lineshaft.changes"}
    assert sorted(groups - RANK_OF.keys()) == []


def test_writers_see_findings_alone(sources: Sources) -> None:
    """Writers know findings and places, neither rigs nor texts nor trees; the sheets of a command know its values."""
    plain = {module: text for module, text in sources.items() if not _within(module, "lineshaft.write.sheets")}
    assert sees_more(plain, "lineshaft.write", WRITE_SEES) == []


@pytest.mark.parametrize("module", ["lineshaft.bill_of_materials", "lineshaft.audit", "lineshaft.changes.editions"])
def test_accounts_see_the_solved_rig_alone(sources: Sources, module: str) -> None:
    """Bills, readings and editions are reckoned from the model and its solution."""
    reckoned = {name: text for name, text in sources.items() if name not in EDITED}
    assert sees_more(reckoned, module, (*ACCOUNTS_SEE, module)) == []


def test_nothing_imports_a_rule(sources: Sources) -> None:
    """Our rules are found through their entry points, as a third party's are; no rule imports another."""
    found = [(m, line, name) for m in sources for line, name in _ours(m, sources) if _within(name, "lineshaft.rules")]
    assert found == []


def test_rules_see_what_a_third_party_may(sources: Sources) -> None:
    """Our own rules are written with `lineshaft.api` alone, as anybody's are."""
    assert sees_more(sources, "lineshaft.rules", RULES_SEE) == []


def test_rules_are_pure(sources: Sources) -> None:
    """A rule reads no file, prints nothing and ends nothing."""
    assert impure(sources) == []


def test_imports_are_absolute(sources: Sources) -> None:
    """No module is named relative to another."""
    nodes = ((module, node) for module, text in sources.items() for node in ast.walk(_tree(text)))
    assert [f"{m}:{n.lineno}" for m, n in nodes if isinstance(n, ast.ImportFrom) and n.level] == []


def test_modules_are_small(sources: Sources) -> None:
    """At most 300 lines."""
    lengths = {module: len(text.splitlines()) for module, text in sources.items()}
    assert {module: length for module, length in lengths.items() if length > 300} == {}


# Loops that run once a YAML event or once a part: a call in them costs more than the lines do.
HOT_LOOPS = {"lineshaft.schema.text.yaml_reader._read": 95, "lineshaft.solve.steady_state.solve_parts": 65}


def test_functions_are_small(sources: Sources) -> None:
    """At most 50 lines from ``def`` to the last, docstring and inner functions included; two hot loops more."""
    long = []
    for module, text in sources.items():
        for node in ast.walk(_tree(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                length = (node.end_lineno or node.lineno) - node.lineno + 1
                if length > HOT_LOOPS.get(f"{module}.{node.name}", 50):
                    long.append(f"{module}.{node.name}: {length}")
    assert long == []


def test_modules_have_names_of_the_trade(sources: Sources) -> None:
    """No module is a drawer for what has no name."""
    assert [module for module in sources if NAMELESS & set(module.split("."))] == []


def test_public_things_are_documented(sources: Sources) -> None:
    """Every module, and every public class, function and method, has a docstring."""
    assert undocumented(sources) == []


PLANTED = {
    "lineshaft.solve.up": "def f():\n    from lineshaft.check import finding\n",
    "lineshaft.check.finding": "",
    "lineshaft.schema.out": "from lineshaft import __version__\n",
    "lineshaft.write.across": "import lineshaft.repair.edits.splice\nfrom lineshaft import __version__\n",
    "lineshaft.repair.down": "from lineshaft.schema.model.rig import Rig\n",
}


def test_the_rank_check_finds_what_is_planted() -> None:
    """Up (inside a function too), out of the schema package and across are found; down and the version are not."""
    assert against_rank(PLANTED) == [
        "lineshaft.solve.up:2 imports lineshaft.check.finding",
        "lineshaft.schema.out:1 imports lineshaft",
        "lineshaft.write.across:1 imports lineshaft.repair.edits.splice",
    ]


@pytest.mark.parametrize("line", ["import os.path", "from sys import exit as leave", "print(1)", "say = print"])
def test_the_purity_check_finds_what_is_planted(line: str) -> None:
    """A forbidden module or name in a rule is found, under another name too."""
    assert len(impure({"lineshaft.rules.planted": line})) == 1
