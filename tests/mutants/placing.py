"""A change of a module's code put into the running program: a function's code, its defaults, or a constant.

A constant is put wherever the program or the tests hold it under its name, and what the module makes of it is made
again. What another module made of it as it was imported, or a test as its parameters, stays.
"""

from __future__ import annotations

import ast
import gc
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from types import CodeType, FunctionType, ModuleType

SCOPES = ("dyeday", "tests")


@dataclass(frozen=True)
class Placed:
    """One change: what it is called in its module, and the code of it and of what depends on it."""

    functions: dict[str, CodeType]
    """qualified name to new code"""
    defaults: dict[str, tuple[list[CodeType], dict[str, CodeType]]]
    """qualified name to what gives its new defaults, by place and by name"""
    constants: list[tuple[tuple[str, ...], CodeType]]
    """names and the statement that sets them, in order"""

    def readers(self, file: str) -> set[tuple[str, str]]:
        """(file, qualified name) of the functions that do something else now, or read what changed."""
        changed = {name for names, _ in self.constants for name in names}
        module = next((one for one in sys.modules.values() if getattr(one, "__file__", None) == file), None)
        held = [value for name in changed if isinstance(value := getattr(module, name, None), float)]
        out = {(file, name) for name in (*self.functions, *self.defaults)}
        for thing in _functions():
            defaults = (*(thing.__defaults__ or ()), *(thing.__kwdefaults__ or {}).values())
            is_default = any(one is value for one in defaults for value in held)
            if is_default or not changed.isdisjoint(_names(thing.__code__)):
                out.add((thing.__code__.co_filename, thing.__code__.co_qualname.partition(".<locals>")[0]))
        return out

    def put(self, module: ModuleType) -> None:
        """Put it in place, in this process."""
        for thing in _functions():
            if thing.__code__.co_filename != module.__file__:
                continue
            name = thing.__code__.co_qualname
            if name in self.functions:
                thing.__code__ = self.functions[name]
            if name in self.defaults:
                by_place, by_name = self.defaults[name]
                thing.__defaults__ = tuple(eval(code, vars(module)) for code in by_place) or None  # noqa: S307
                thing.__kwdefaults__ = {k: eval(code, vars(module)) for k, code in by_name.items()}  # noqa: S307
        for names, code in self.constants:
            before = {name: vars(module).get(name) for name in names}
            exec(code, vars(module))  # noqa: S102 - our own code, a little changed
            for name, old in before.items():
                _put_everywhere(name, old, vars(module)[name])


def placed(was: str, now: str, file: str) -> Placed | None:
    """How a change of a module's code is put in place; None where neither function nor plain constant changed."""
    old, new = ast.parse(was), ast.parse(now)
    changed: list[tuple[str, ast.stmt, ast.stmt]] = list(_changed("", old.body, new.body))
    made = Placed({}, {}, [])
    codes, before_it = (
        {code.co_qualname: code for code in _all_code(compile(text, file, "exec", dont_inherit=True))}
        for text in (now, was)
    )
    for owner, before, after in changed:
        if isinstance(before, ast.FunctionDef) and isinstance(after, ast.FunctionDef):
            name = owner + after.name
            if ast.dump(before.args) != ast.dump(after.args):
                names = [arg.arg for arg in after.args.kwonlyargs]
                by_name = {
                    name: _expression(value, file)
                    for name, value in zip(names, after.args.kw_defaults, strict=True)
                    if value is not None
                }
                made.defaults[name] = ([_expression(value, file) for value in after.args.defaults], by_name)
            elif codes[name].co_freevars != before_it[name].co_freevars:
                return None  # a live function takes no code that closes over other names
            else:
                made.functions[name] = codes[name]
        elif isinstance(after, (ast.Assign, ast.AnnAssign)) and not owner:
            made.constants.extend(_and_what_is_made_of_it(after, new.body, file))
        else:
            return None
    return made if changed else None


def _changed(owner: str, old: list[ast.stmt], new: list[ast.stmt]) -> Iterator[tuple[str, ast.stmt, ast.stmt]]:
    for before, after in zip(old, new, strict=True):
        if ast.dump(before) == ast.dump(after):
            continue
        if isinstance(before, ast.ClassDef) and isinstance(after, ast.ClassDef):
            yield from _changed(f"{owner}{after.name}.", before.body, after.body)
        else:
            yield owner, before, after


def _and_what_is_made_of_it(
    first: ast.Assign | ast.AnnAssign, body: list[ast.stmt], file: str
) -> Iterator[tuple[tuple[str, ...], CodeType]]:
    stale: set[str] = set()
    for statement in body[body.index(first) :]:
        if not isinstance(statement, (ast.Assign, ast.AnnAssign)) or statement.value is None:
            continue
        read = {node.id for node in ast.walk(statement.value) if isinstance(node, ast.Name)}
        if statement is not first and read.isdisjoint(stale):
            continue
        targets: list[ast.expr] = statement.targets if isinstance(statement, ast.Assign) else [statement.target]
        names = tuple(node.id for target in targets for node in ast.walk(target) if isinstance(node, ast.Name))
        stale.update(names)
        plain = ast.Assign(targets=targets, value=statement.value)
        module = ast.fix_missing_locations(ast.Module([ast.copy_location(plain, statement)], []))
        yield names, compile(module, file, "exec", dont_inherit=True)


def _expression(value: ast.expr, file: str) -> CodeType:
    return compile(ast.fix_missing_locations(ast.Expression(value)), file, "eval", dont_inherit=True)


def _all_code(code: CodeType) -> Iterator[CodeType]:
    yield code
    for const in code.co_consts:
        if isinstance(const, CodeType):
            yield from _all_code(const)


def _names(code: CodeType) -> set[str]:
    return {name for inner in _all_code(code) for name in inner.co_names}


def _functions() -> list[FunctionType]:
    return [
        thing
        for thing in gc.get_objects()
        if isinstance(thing, FunctionType) and thing.__module__ is not None and thing.__module__.startswith(SCOPES)
    ]


def _put_everywhere(name: str, old: object, new: object) -> None:
    for module in [module for key, module in sys.modules.items() if key.startswith(SCOPES)]:
        for held, value in list(vars(module).items()):
            if value is old and (held == name or held.endswith(name) or not isinstance(old, (int, float, str))):
                setattr(module, held, new)
    if isinstance(old, float):
        for thing in _functions():
            if thing.__defaults__ and any(one is old for one in thing.__defaults__):
                thing.__defaults__ = tuple(new if one is old else one for one in thing.__defaults__)
            if thing.__kwdefaults__ and any(one is old for one in thing.__kwdefaults__.values()):
                thing.__kwdefaults__ = {k: new if one is old else one for k, one in thing.__kwdefaults__.items()}
