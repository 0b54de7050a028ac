"""The core prints nothing, opens nothing, and knows neither clock, chance nor environment."""

import ast
import re

import pytest

EDGE = {"cli", "board", "files", "handbook", "__main__.py"}  # all the rest is core
CALLS = {"print", "open", "input", "breakpoint", "exec", "eval"}
NAMES = re.compile(
    r"(^|\.)(datetime\.(now|utcnow|today)|date\.today|time\.(time|monotonic|perf_counter)|os\.(environ|getenv)"
    r"|random\.(default_rng|seed|rand\w*|normal|uniform|choice|shuffle)|sys\.(stdout|stderr|stdin|argv))$"
)


def impurities(source):
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            found.append(f"line {node.lineno}: {node.func.id}(...)")
        elif isinstance(node, ast.Attribute) and NAMES.search(ast.unparse(node)):
            found.append(f"line {node.lineno}: {ast.unparse(node)}")
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = [f"{node.module}.{a.name}" for a in node.names]
            found += [f"line {node.lineno}: {name}" for name in names if NAMES.search(name)]
    return found


def test_core_module_is_pure(module_path, package):
    if module_path.relative_to(package).parts[0] in EDGE:
        return
    found = impurities(module_path.read_text(encoding="utf-8"))
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "line",
    [
        "print(1)",
        "open('a')",
        "datetime.datetime.now()",
        "os.environ['A']",
        "from os import environ",
        "np.random.default_rng()",
    ],
)
def test_the_rule_sees_what_it_should(line):
    assert impurities(line)


def test_the_rule_lets_a_passed_generator_be():
    assert not impurities("def f(rng: np.random.Generator): return rng.normal(size=3)")
