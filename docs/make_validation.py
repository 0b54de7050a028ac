"""Write docs/validation.md: which published example each test checks, from the tests' own markers.

Run ``python docs/make_validation.py``; a test fails while the page is stale. The tests are read as
text, not run: a marker's arguments are plain strings or names of plain strings in the same file.
"""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "validation.md"

HEAD = """\
# Validation: what is checked against the outside

Written by `docs/make_validation.py` from the tests; do not edit. Each line is a published example, or a
published table's own statement, that a test works through the public functions, to the digits that the
source prints or with a sentence in the test that says why not. Sources are cited in full at the head of
each test file. Cases that are limited in some way are listed in `tests/validation/LEFT_OUT.md`.
"""


def is_validates(node: ast.AST) -> bool:
    """Tell whether a decorator is ``pytest.mark.validates(...)``."""
    return isinstance(node, ast.Call) and ast.unparse(node.func) == "pytest.mark.validates"


def constants(tree: ast.Module) -> dict[str, str]:
    """Names of plain strings at the top of a file."""
    return {
        target.id: node.value.value
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def text_of(node: ast.expr, known: dict[str, str], where: str) -> str:
    """Value of a marker's argument."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.Name) and node.id in known:
        return known[node.id]
    message = f"{where}: a marker's argument must be a plain string, not {ast.unparse(node)}"
    raise ValueError(message)


def entries(path: Path) -> list[tuple[str, str, str, str]]:
    """Return (source, item, page, test) of each marked test in a file."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    known = constants(tree)
    name = path.relative_to(ROOT).as_posix()
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.FunctionDef):
            continue
        for mark in filter(is_validates, node.decorator_list):
            where = f"{name}::{node.name}"
            given = {k.arg: text_of(k.value, known, where) for k in mark.keywords}
            if set(given) != {"source", "item", "page"}:
                message = f"{where}: validates takes source, item and page, all by name"
                raise ValueError(message)
            found.append((given["source"], given["item"], given["page"], where))
    return found


def page() -> str:
    """Return the text of docs/validation.md."""
    found = sorted(e for path in (ROOT / "tests").rglob("test_*.py") for e in entries(path))
    lines = [HEAD, f"{len(found)} examples from {len({e[0] for e in found})} sources.", ""]
    lines += ["| source | item | page | test |", "| --- | --- | --- | --- |"]
    for source, item, where, test in found:
        cells = (text.replace("|", "\\|") for text in (source, item, where))
        lines.append(f"| {' | '.join(cells)} | `{test.removeprefix('tests/')}` |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE}")
