"""Every public function says what it does, and every float in its docstring says its unit."""

import ast
import inspect
import re

import pytest

UNITS = {
    *("mm", "mm^2", "mm²", "mm^3", "mm³", "mm^4", "mm⁴", "1/mm", "1/mm^2", "1/mm²", "mm/mm", "in", "ft"),
    *("rad", "rad/mm", "rad/mm^2", "deg", "1/rad", "mm/rad", "px"),
    *("s", "g", "N", "N mm", "MPa", "degC", "1", "%"),
    "any",  # the caller's choice: the function works in any unit
    "mixed",  # the entries have different units; the description says which
}
FUNCTION = ast.FunctionDef | ast.AsyncFunctionDef
NUMBER = re.compile(r"\bfloat(64)?\b|\bndarray\b|\bNDArray\b|\bFloatArray\b|\barray_like\b")
NOT_A_MEASURE = re.compile(r"\b(bool|int|intp|int64|str)\b")
TAG = re.compile(r"\[([^\[\]]+)\]\.?$")
NO_UNIT = "does not end with a known [unit]"
HEADING = re.compile(r"^(?P<title>[A-Z][A-Za-z ]+)\n-{3,}[ \t]*\n", re.MULTILINE)


def sections(docstring):
    """Section title -> its text, for a numpydoc docstring."""
    parts = HEADING.split(inspect.cleandoc(docstring) + "\n")
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def entries(text):
    """(heading line, description) of each entry: headings stand at the margin, descriptions are indented."""
    found = []
    for line in text.splitlines():
        if line.strip() and not line[0].isspace():
            found.append((line.strip(), []))
        elif line.strip() and found:
            found[-1][1].append(line.strip())
    return [(head, " ".join(lines)) for head, lines in found]


def parameters(function):
    """Parameter name -> its annotation as text."""
    a = function.args
    every = [*a.posonlyargs, *a.args, *a.kwonlyargs, *filter(None, (a.vararg, a.kwarg))]
    return {p.arg: ast.unparse(p.annotation) if p.annotation else "" for p in every}


def lacks_unit(kind, description):
    if not NUMBER.search(kind) or (NOT_A_MEASURE.search(kind) and "float" not in kind):
        return False
    tag = TAG.search(description)
    return not tag or not all(unit.strip() in UNITS for unit in tag[1].split(","))


def parameter_faults(function, text):
    known = parameters(function)
    for head, description in entries(text):
        names, _, kind = (part.strip() for part in head.partition(" :"))
        for name in (n.strip().lstrip("*\\") for n in names.split(",")):
            if name not in known:
                yield f"documents '{name}', which is not in the signature"
            elif lacks_unit(kind or known[name], description):
                yield f"'{name}' ({kind or known[name]}) {NO_UNIT}: ...{description[-50:]!r}"


def return_faults(text):
    for head, description in entries(text):
        name, _, kind = (part.strip() for part in head.rpartition(" : "))
        if lacks_unit(kind or name, description):
            yield f"return value '{head}' {NO_UNIT}: ...{description[-50:]!r}"


def faults(function):
    docstring = ast.get_docstring(function)
    if not docstring:
        yield "has no docstring"
        return
    found = sections(docstring)
    yield from parameter_faults(function, found.get("Parameters", ""))
    yield from return_faults(found.get("Returns", ""))


def is_overload(function):
    return any("overload" in ast.unparse(d) or ".setter" in ast.unparse(d) for d in function.decorator_list)


def public_functions(tree, prefix=""):
    """Functions of the module and methods of its public classes; nested functions are nobody's business."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from public_functions(node, f"{node.name}.")
        elif isinstance(node, FUNCTION) and not node.name.startswith("_") and not is_overload(node):
            yield f"{prefix}{node.name}", node


def module_faults(source):
    return [f"{name}: {fault}" for name, f in public_functions(ast.parse(source)) for fault in faults(f)]


def test_public_functions_are_documented_with_units(module_path):
    found = module_faults(module_path.read_text(encoding="utf-8"))
    assert not found, "\n" + "\n".join(found)


EXAMPLE = '''
def middle_ordinate(chord: float, radius: float) -> float:
    """Height of an arc over its chord.

    Parameters
    ----------
    chord : float
        Straight distance between the ends. [mm]
    radius : float
        Radius, on
        two lines. [mm]

    Returns
    -------
    float
        The ordinate. [mm]
    """
'''


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ("two lines. [mm]", "two lines.", "'radius' (float)"),
        ("two lines. [mm]", "two lines. [furlong]", "'radius' (float)"),
        ("ordinate. [mm]", "ordinate.", "return value 'float'"),
        ("    chord : float", "    chrod : float", "'chrod', which is not in the signature"),
        ("    chord : float", "    chord : ndarray, shape (n,)", None),
        ("two lines. [mm]", "two lines. [mm, rad]", None),
        ("", "", None),
    ],
)
def test_the_rule_sees_what_it_should(old, new, fault):
    found = module_faults(EXAMPLE.replace(old, new, 1))
    assert len(found) == (fault is not None), found
    assert all(fault in line for line in found)


def test_a_public_function_without_docstring_is_a_fault():
    assert module_faults("def f(x): ...\ndef _g(x): ...") == ["f: has no docstring"]
