"""A mutant put into the running program: its functions' code takes the place of theirs, nothing is imported anew."""

import gc
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import CodeType, FunctionType, ModuleType

_OPTIMIZED = 0x1  # CO_OPTIMIZED: of functions alone, not of modules and classes


class OutsideFunctionsError(Exception):
    """What a mutant changes runs when its module is imported: it needs a process of its own."""


def changed_functions(path: Path, before: str, after: str) -> list[tuple[CodeType, CodeType]]:
    """The code of each outermost function that differs, before and after; empty where no code does.

    Raises OutsideFunctionsError where something outside of functions differs, SyntaxError where ``after`` is no Python.
    """
    pairs = _pairs(compile(before, str(path), "exec"), compile(after, str(path), "exec"))
    return [(old, new) for old, new in pairs if not _alike(old, new)]


def _pairs(old: CodeType, new: CodeType) -> Iterator[tuple[CodeType, CodeType]]:
    """Outermost functions side by side."""
    if old.co_flags & _OPTIMIZED:
        yield old, new
        return
    inner, changed = _inner(old), _inner(new)
    if len(inner) != len(changed) or not _same_frame(old, new):
        raise OutsideFunctionsError(old.co_name)
    for one, other in zip(inner, changed, strict=True):
        yield from _pairs(one, other)


def _inner(code: CodeType) -> list[CodeType]:
    return [constant for constant in code.co_consts if isinstance(constant, CodeType)]


def _same_frame(old: CodeType, new: CodeType) -> bool:
    """Whether two do the same but for the functions and classes that stand in them."""
    plain, other = ([_typed(c) for c in code.co_consts if not isinstance(c, CodeType)] for code in (old, new))
    return (old.co_code, plain, old.co_names) == (new.co_code, other, new.co_names)


def _typed(constant: object) -> tuple[type, object]:
    """A constant with its type, since 1, 1.0 and True are equal; of 0.0 its sign too."""
    if isinstance(constant, tuple):
        return tuple, [_typed(each) for each in constant]
    return type(constant), repr(constant) if isinstance(constant, float) else constant


def _alike(old: CodeType, new: CodeType) -> bool:
    """Whether two functions do the same; where in their lines it stands does not count."""
    inner, changed = _inner(old), _inner(new)
    return (
        _same_frame(old, new)
        and len(inner) == len(changed)
        and (old.co_varnames, old.co_freevars, old.co_cellvars) == (new.co_varnames, new.co_freevars, new.co_cellvars)
        and all(_alike(one, other) for one, other in zip(inner, changed, strict=True))
    )


def functions_in_memory(paths: Iterable[Path]) -> dict[Path, list[FunctionType]]:
    """The functions in memory, by the file they are from."""
    found: dict[Path, list[FunctionType]] = {path: [] for path in paths}
    resolved: dict[str, Path] = {}
    for function in [each for each in gc.get_objects() if type(each) is FunctionType]:
        name = function.__code__.co_filename
        path = resolved.get(name) or resolved.setdefault(name, Path(name).resolve())
        if path in found:
            found[path].append(function)
    return found


def put_in(functions: Iterable[FunctionType], changes: list[tuple[CodeType, CodeType]]) -> int:
    """Give every function of a file that has such code the changed one; how many there were.

    Raises OutsideFunctionsError where one closes over other variables than before.
    """
    count = 0
    for function in functions:
        code = function.__code__
        for old, new in changes:
            if code.co_name == old.co_name and code.co_firstlineno == old.co_firstlineno and _is(code, old):
                if code.co_freevars != new.co_freevars:
                    raise OutsideFunctionsError(code.co_name)
                function.__code__ = new
                count += 1
    return count


def put_in_values(module: ModuleType, path: Path, after: str) -> int:
    """Run a module's changed text, and give its values the places of those that differ, wherever they go by the same
    name; how many differ. Functions and classes stay as they are. Raises whatever the text raises."""
    fresh = ModuleType(module.__name__)
    vars(fresh).update({name: value for name, value in vars(module).items() if name.startswith("__")})
    exec(compile(after, str(path), "exec"), vars(fresh))
    count = 0
    for name, value in vars(fresh).items():
        old = vars(module).get(name)
        if name.startswith("__") or callable(value) or isinstance(value, ModuleType) or _equal(old, value):
            continue
        count += 1
        for other in [one for one in sys.modules.values() if isinstance(one, ModuleType)]:
            if vars(other).get(name) is old:
                setattr(other, name, value)
    return count


def _equal(one: object, other: object) -> bool:
    return type(one) is type(other) and bool(one == other)


def _is(code: CodeType, old: CodeType) -> bool:
    return code.co_qualname == old.co_qualname and _alike(code, old)
