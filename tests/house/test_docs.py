"""The pages under docs/ agree with the source and with each other."""

import ast
import re

import pytest

STAGES = ("survey", "alignment", "structures", "clearance", "packing", "parts", "drawings", "build")
#: Plain words and letters that mean what they say where they stand.
PLAIN = {"a", "b", "x", "y", "at", "name", "place", "point"}
CODE = re.compile(r"[\"']([A-Z]{2}\d{3})[\"']")
LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)\s]+)\)")
PATH = re.compile(r"`((?:src|tests|docs)/[\w./-]+)`")
BLOCK = re.compile(r"^```python\n(.*?)^```$", re.MULTILINE | re.DOTALL)
FUNCTION = ast.FunctionDef | ast.AsyncFunctionDef


@pytest.fixture
def docs(root):
    return root / "docs"


def pages(root):
    """Every page of docs/ and those at the top of the project."""
    return [*sorted((root / "docs").rglob("*.md")), root / "README.md", root / "DEVELOPERS.md"]


def public_functions(tree):
    for node in tree.body:
        if isinstance(node, FUNCTION):
            yield node
        elif isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from (n for n in node.body if isinstance(n, FUNCTION))


def parameters(source):
    """Parameter names of the public functions and methods of a module."""
    found = set()
    for function in public_functions(ast.parse(source)):
        a = function.args
        every = [*a.posonlyargs, *a.args, *a.kwonlyargs, *filter(None, (a.vararg, a.kwarg))]
        if not function.name.startswith("_"):
            found |= {p.arg for p in every}
    return found - {"self", "cls"}


def test_every_parameter_of_a_stage_is_in_the_nomenclature(package, docs):
    known = set(re.findall(r"`(\w+)`", (docs / "nomenclature.md").read_text(encoding="utf-8"))) | PLAIN
    missing = {}
    for stage in STAGES:
        for path in sorted((package / stage).rglob("*.py")):
            for name in parameters(path.read_text(encoding="utf-8")) - known:
                missing.setdefault(name, f"{stage}/{path.name}")
    assert not missing, f"not in docs/nomenclature.md: {missing}"


def codes(package):
    return {c for path in package.rglob("*.py") for c in CODE.findall(path.read_text(encoding="utf-8"))}


def listed_codes(text):
    """Code -> the cells of its row."""
    rows = re.findall(r"^\| ([A-Z]{2}\d{3}) \|(.*)\|$", text, re.MULTILINE)
    assert len(rows) == len(dict(rows)), "a code stands in two rows of docs/findings.md"
    return {code: [c.strip() for c in re.split(r"(?<!\\)\|", rest)] for code, rest in rows}


def test_every_code_is_listed_with_its_meaning(package, docs):
    listed = listed_codes((docs / "findings.md").read_text(encoding="utf-8"))
    used = codes(package)
    assert not used - set(listed), "not in docs/findings.md"
    assert not set(listed) - used, "no longer in the source"
    assert all(all(cells) for cells in listed.values()), "an empty cell"


def test_findings_and_errors_are_told_apart(docs):
    text = (docs / "findings.md").read_text(encoding="utf-8")
    findings, errors = text.split("\n## Errors\n")
    # findings count from 101 in their stage; nothing else does
    assert all(int(code[2:]) > 100 for code in listed_codes(findings))
    assert all(int(code[2:]) < 100 for code in listed_codes(errors))


def test_links_between_pages_resolve(root):
    broken = []
    for page in pages(root):
        for link in LINK.findall(page.read_text(encoding="utf-8")):
            target = link.partition("#")[0]
            if target and "://" not in link and not (page.parent / target).exists():
                broken.append(f"{page.relative_to(root)}: {link}")
    assert not broken, broken


def test_files_that_pages_name_are_there(root, docs):
    missing = [
        f"{page.relative_to(root)}: {name}"
        for page in docs.rglob("*.md")
        for name in PATH.findall(page.read_text(encoding="utf-8"))
        if not (root / name).exists()
    ]
    assert not missing, missing


def test_every_page_is_reached_from_the_index(root, docs):
    seen, waiting = set(), [docs / "index.md"]
    while waiting:
        page = waiting.pop()
        if page in seen or page.suffix != ".md":
            continue
        seen.add(page)
        for link in LINK.findall(page.read_text(encoding="utf-8")):
            target = (page.parent / link.partition("#")[0]).resolve()
            if "://" not in link and target.is_file():
                waiting.append(target)
    lost = set(docs.glob("*.md")) - seen
    assert not lost, f"no link leads to {sorted(p.name for p in lost)}"


def test_fenced_python_runs(root):
    ran = 0
    for page in pages(root):
        for number, block in enumerate(BLOCK.findall(page.read_text(encoding="utf-8")), start=1):
            exec(compile(block, f"{page.name}, block {number}", "exec"), {"__name__": "docs"})
            ran += 1
    assert ran


def test_decisions_are_numbered_and_complete(docs):
    decisions = sorted((docs / "decisions").glob("[0-9]*.md"))
    numbers = [int(p.name[:4]) for p in decisions]
    assert numbers == list(range(len(numbers)))
    heads = re.findall(r"^## .+$", decisions[0].read_text(encoding="utf-8"), re.MULTILINE)
    for page in decisions:
        text = page.read_text(encoding="utf-8")
        assert re.findall(r"^## .+$", text, re.MULTILINE) == heads, page.name
        assert re.search(r"^Date: .+ State: (proposed|in force|replaced by \d{4})", text, re.MULTILINE), (
            page.name
        )


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("def f(a, *, b=1): ...", {"a", "b"}),
        ("def _f(a): ...", set()),
        ("class C:\n    def g(self, c): ...\n    def _h(self, d): ...", {"c"}),
        ("class _C:\n    def g(self, c): ...", set()),
    ],
)
def test_the_rule_sees_public_parameters(source, found):
    assert parameters(source) == found
