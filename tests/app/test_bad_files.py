"""A wrong job file gives one clear line, no traceback, and stays as it was."""

import pytest

from spanwright.files.template import template_text

LARGE = 50_000_000
MARKS = 'marks     = ["a1", "a2", "a3", "a4", "a5", "a6", "a7"]'

CHANGED = {
    "misspelt key": ('name   = "Template', 'nmae   = "Template', ["nmae", "name", "line"]),
    "bad length": ('towards = "wall", is = "11.0"', 'towards = "wall", is = "eleven"', ["eleven", "line"]),
    "missing mark": ('from = "P4", to = "b1"', 'from = "P4", to = "b99"', ["b99", "line"]),
    "too few points": (MARKS, 'marks     = ["a1", "a2"]', ["lower"]),
    "negative thickness": ('tie        = ["1.60"', 'tie        = ["-1.60"', ["-1.60", "line"]),
    "not TOML": ("[datum]", "[datum", ["TOML", "line"]),
}


def changed(old, new):
    text = template_text()
    assert text.count(old) == 1, old
    return text.replace(old, new).encode()


def refused(cli, path, verb="check"):
    before = path.stat()
    head = path.read_bytes()[:100_000]
    result = cli(verb, path.parent)
    assert (result.status, result.out) == (2, "")
    assert result.err.startswith("spanwright: ")
    assert result.err.count("\n") == 1
    assert "Traceback" not in result.err
    after = path.stat()
    assert (after.st_mtime_ns, after.st_size, after.st_ino) == (
        before.st_mtime_ns,
        before.st_size,
        before.st_ino,
    )
    assert path.read_bytes()[:100_000] == head
    assert [p.name for p in path.parent.iterdir()] == ["job.toml"]
    return result.err


@pytest.fixture
def file(tmp_path):
    return tmp_path / "job.toml"


@pytest.mark.parametrize("case", CHANGED)
@pytest.mark.parametrize("verb", ["check", "survey", "alignment"])
def test_something_wrong_inside(cli, file, case, verb):
    old, new, shown = CHANGED[case]
    file.write_bytes(changed(old, new))
    if case == "too few points" and verb == "survey":
        return  # the survey needs no line
    message = refused(cli, file, verb)
    assert all(word in message for word in shown), message


def test_not_utf8(cli, file):
    file.write_bytes(
        template_text().replace("Template crossing", "Br\xfccke").encode("latin-1", errors="replace")
    )
    assert "UTF-8" in refused(cli, file)


@pytest.mark.parametrize("content", [b"", b"  \n\n", b"# nothing but a comment\n"])
def test_empty(cli, file, content):
    file.write_bytes(content)
    assert "spanwright new" in refused(cli, file)


def test_fifty_megabytes(cli, file):
    with file.open("wb") as sink:
        sink.truncate(LARGE)
    message = refused(cli, file)
    assert "50.0 MB" in message


@pytest.mark.parametrize("name", ["nowhere", "nowhere/job.toml"])
def test_missing(cli, tmp_path, name):
    result = cli("check", tmp_path / name)
    assert (result.status, result.out) == (2, "")
    assert result.err.count("\n") == 1
    assert "nowhere" in result.err


def test_a_folder_without_a_job(cli, tmp_path):
    result = cli("check", tmp_path)
    assert result.status == 2
    assert "this folder holds no job.toml" in result.err


@pytest.mark.parametrize("verb", ["new", "check", "sheets"])
def test_a_name_that_is_too_long_is_no_fault_of_the_program(cli, tmp_path, verb):
    result = cli(verb, tmp_path / ("a" * 300))
    assert (result.status, result.out) == (2, "")
    assert result.err.count("\n") == 1
    assert "aaa" in result.err
    assert "program itself" not in result.err


@pytest.mark.parametrize("name", ["", "  "])
def test_new_wants_a_name(cli, tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    result = cli("new", name)
    assert (result.status, result.out) == (2, "")
    assert "it has no name" in result.err
    assert not list(tmp_path.iterdir())


def test_a_name_in_a_message_cannot_steer_the_terminal(cli, tmp_path):
    message = cli("check", tmp_path / "no\x1b[31m\nwhere").err
    assert "no\\x1b[31m\\nwhere" in message
    assert message.count("\n") == 1
    assert message.rstrip("\n").isprintable()


def test_new_leaves_an_older_job_alone(cli, file):
    file.write_text("mine", encoding="utf-8")
    result = cli("new", file.parent)
    assert (result.status, result.out) == (2, "")
    assert file.read_text(encoding="utf-8") == "mine"
