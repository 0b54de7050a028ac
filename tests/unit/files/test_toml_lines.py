"""Every key of a TOML text is found, on the line where it starts."""

import textwrap
import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spanwright.files.template import template_text
from spanwright.files.toml_lines import key_lines

TEXT = textwrap.dedent(
    '''\
    # comment = 1
    a = 1  # b = 2
    "quoted key" = 'x = 3'
    dotted.inner."last one" = [1, [2, 3],
      4]  # list over two lines
    long = """
    not = 1
    [neither]
    \\"\\"\\" still inside"""
    after = """quote at the end""""
    literal = \'\'\'
    [x] = "\'\'\'

    [table]
    in = { x = 1, y = { z = "}" } }
    [table.sub]
    k = 1979-05-27T07:32:00Z
    [[many]]
    n = 1
    [[many.inside]]
    q = 1
    [[many.inside]]
    q = 2
    [many.named]
    r = 1
    [[many]]
    rows = [
      # a comment
      { id = "d1", is = ["1", "2"] },

      { id = "d2",
    ]
    '''
).replace('{ id = "d2",', '{ id = "d2" },')


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a",), 2),
        (("quoted key",), 3),
        (("dotted", "inner", "last one"), 4),
        (("dotted", "inner", "last one", 1, 1), 4),
        (("dotted", "inner", "last one", 2), 5),
        (("long",), 6),
        (("after",), 10),
        (("literal",), 11),
        (("table",), 14),
        (("table", "in", "y", "z"), 15),
        (("table", "sub", "k"), 17),
        (("many", 0), 18),
        (("many", 0, "inside", 1, "q"), 23),
        (("many", 0, "named", "r"), 25),
        (("many", 1), 26),
        (("many", 1, "rows", 0, "is", 1), 29),
        (("many", 1, "rows", 1, "id"), 31),
    ],
)
def test_lines_by_hand(path, line):
    tomllib.loads(TEXT)
    assert key_lines(TEXT)[path] == line


def paths(value, start=()):
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in inside:
        yield (*start, key)
        yield from paths(inner, (*start, key))


@pytest.mark.parametrize("text", [TEXT, template_text()])
def test_every_key_has_its_line(text):
    lines = key_lines(text)
    assert set(lines) == set(paths(tomllib.loads(text)))


KEYS = st.text("abc-_ é.\"'", min_size=1, max_size=4)
VALUES = st.recursive(
    st.one_of(st.integers(), st.booleans(), st.text("ab\"'#=[]{},\\ \n", max_size=8)),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
    max_leaves=8,
)


def written(value, between):
    """TOML for a value, with `between` after each comma of a list."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{written(k, '')} = {written(v, between)}" for k, v in value.items()) + " }"
    if isinstance(value, list):
        return f"[{between}" + f",{between}".join(written(v, between) for v in value) + f"{between}]"
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        return f'"{escaped}"'
    return str(value).lower()


@given(st.dictionaries(KEYS, VALUES, max_size=4), st.sampled_from(["", " ", "\n", " # ] }\n  "]))
def test_every_key_of_any_text_has_its_line(values, between):
    text = "\n".join(f"{written(key, '')} = {written(value, between)}" for key, value in values.items())
    read = tomllib.loads(text)
    assert read == values
    assert set(key_lines(text)) == set(paths(read))
