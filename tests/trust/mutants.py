"""All mutants of the modules whose defects would pass in silence, in a fixed order, made by cosmic-ray's operators.

Left out is what can change no verdict: annotations, which types check; mutants whose code is the same byte for byte;
`strict` of a zip, `slots` and caches, on which no result hangs; and `is` for `==` beside a literal, which Python warns
of, ruff refuses (F632) and an accident, that strings are interned, decides. A mutant is known by its module, its
operator, the text of its line and which of the alike on that line it is, so that what is said of it stands when lines
move.
"""

import ast
from collections.abc import Iterable, Iterator
from functools import cache, lru_cache
from importlib.util import find_spec
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.plugins import get_operator, operator_names

ROOT = Path(__file__).resolve().parents[2]
PLACES = ("lint/solve", "lint/check", "rules", "schema/quantities", "lint/repair/line", "lint/audit")


class Mutant(NamedTuple):
    """One change of one module: which operator, the how-many-eth place where it fits, and where that is."""

    module: str
    operator: str
    occurrence: int
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.module}:{self.line}:{self.column + 1} {self.operator} {self.occurrence}"


def modules() -> list[str]:
    """The modules that are mutated, by their paths in the repository."""
    found = (path for place in PLACES for path in (ROOT / place).glob("*.py") if path.name != "__init__.py")
    return sorted(path.relative_to(ROOT).as_posix() for path in found)


@cache
def source(module: str) -> str:
    """A module's text."""
    return (ROOT / module).read_text("utf-8")


def name_of(module: str) -> str:
    """What a module is imported as."""
    folder, _, rest = module.partition("/")
    package = "lineshaft" if folder == "lint" else f"lineshaft.{folder}"
    return f"{package}.{rest.removesuffix('.py').replace('/', '.')}"


@cache
def installed(module: str) -> Path:
    """Where Python loads a module from: the repository, or where the package is installed."""
    found = find_spec(name_of(module))
    if found is None or found.origin is None:
        raise LookupError(f"{module} is not installed")
    return Path(found.origin).resolve()


def all_mutants(chosen: Iterable[str] | None = None) -> list[Mutant]:
    """Every mutant of some modules, or of all, by module, place and operator."""
    return sorted(
        (mutant for module in (modules() if chosen is None else chosen) for mutant in _mutants_of(module)),
        key=lambda mutant: (mutant.module, mutant.line, mutant.column, mutant.operator, mutant.occurrence),
    )


def _mutants_of(module: str) -> Iterator[Mutant]:
    """By a walk for each operator, as cosmic-ray counts the places where it fits."""
    nodes = list(ast_nodes(get_ast(source(module))))
    silent = [*_annotations(source(module)), *_of_no_result(source(module))]
    literal = _beside_literals(source(module))
    for name in operator_names():
        operator = _operator(name)
        if operator is None:
            continue
        places = (place for node in nodes for place in operator.mutation_positions(node))
        left_out = [*silent, *literal] if name.endswith(("_Is", "_IsNot")) else silent
        for occurrence, (start, _) in enumerate(places):
            if not any(first <= start < last for first, last in left_out):
                yield Mutant(module, name, occurrence, *start)


@cache
def _operator(name: str) -> Any:
    """An operator, or none of those that want to be told names of variables."""
    kind = get_operator(name)
    return None if kind.arguments() else kind()


_Span = tuple[tuple[int, int], tuple[int, int]]


def _annotations(text: str) -> list[_Span]:
    """Where annotations and names of types stand: of parameters, of what is returned, of variables."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            found.append(node.returns)
        elif isinstance(node, ast.arg | ast.AnnAssign):
            found.append(node.annotation)
        elif isinstance(node, ast.Assign) and _is_alias(node):
            found.append(node.value)
    # The columns of `ast` are bytes; in these modules no annotation stands behind a sign of more than one.
    return [(_start(node), _end(node)) for node in found if node is not None]


def _of_no_result(text: str) -> list[_Span]:
    """Where `strict` of a zip stands, which says what holds anyway, `slots`, and caches: they change no result."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.keyword) and node.arg in ("strict", "slots"):
            found.append((_start(node.value), _end(node.value)))
        elif isinstance(node, ast.FunctionDef):
            # From the sign in front of a decorator on, which is where one that is taken away stands.
            found += [((d.lineno, 0), _end(d)) for d in node.decorator_list if "cache" in ast.unparse(d)]
    return found


def _beside_literals(text: str) -> list[_Span]:
    """Where signs of comparison stand that have a number or a string on one side."""
    found = []
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Compare):
            for left, right in pairwise([node.left, *node.comparators]):
                constants = (each.value for each in (left, right) if isinstance(each, ast.Constant))
                if any(isinstance(value, str | float) or type(value) is int for value in constants):
                    found.append((_end(left), _start(right)))
    return found


_TYPE_WORDS = (ast.Name, ast.Attribute, ast.BinOp, ast.BitOr, ast.Subscript, ast.Tuple, ast.Constant, ast.Load)


def _is_alias(node: ast.Assign) -> bool:
    """Whether a name is given to a type, such as ``Key = str | None`` or ``Phase = Literal[1, 2]``."""
    inner = list(ast.walk(node.value))
    if isinstance(node.value, ast.Subscript) and isinstance(node.value.value, ast.Name):
        return node.value.value.id == "Literal"
    return (
        isinstance(node.value, ast.BinOp | ast.Subscript)
        and all(isinstance(each, _TYPE_WORDS) for each in inner)
        and not any(isinstance(each, ast.Constant) and isinstance(each.value, int | float) for each in inner)
        and all(isinstance(target, ast.Name) and target.id.strip("_")[:1].isupper() for target in node.targets)
    )


def _start(node: ast.expr) -> tuple[int, int]:
    return node.lineno, node.col_offset


def _end(node: ast.expr) -> tuple[int, int]:
    assert node.end_lineno is not None and node.end_col_offset is not None
    return node.end_lineno, node.end_col_offset


@lru_cache(maxsize=2)
def mutated_source(mutant: Mutant) -> str:
    """The module's text with the change. Raises LookupError where the operator changes nothing."""
    changed = mutate_code(source(mutant.module), _operator(mutant.operator), mutant.occurrence)
    if changed is None:
        raise LookupError(str(mutant))
    return str(changed)


def changed_line(mutant: Mutant) -> str:
    """The line as the mutant has it."""
    return mutated_source(mutant).splitlines()[mutant.line - 1].strip()


def identity(mutant: Mutant) -> str:
    """What it is known by however lines move: module, operator, the line before and after."""
    before = source(mutant.module).splitlines()[mutant.line - 1].strip()
    return f"{mutant.module} | {before} | {changed_line(mutant)}"
