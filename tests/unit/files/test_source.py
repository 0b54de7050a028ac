"""A file that is no job file: one message, and the file as it was."""

import os
import sys

import pytest

from spanwright.errors import FileFormatError, InputError
from spanwright.files import source
from spanwright.files.job_file import load_job
from spanwright.files.template import template_text


def refused(path):
    with pytest.raises(FileFormatError) as caught:
        load_job(path)
    assert str(caught.value).startswith(str(path))
    assert caught.value.hint
    return caught.value


def test_missing(tmp_path):
    error = refused(tmp_path / "nowhere")
    assert error.code == "FI001"
    assert "there is no such file or folder" in str(error)
    assert "spanwright new" in error.hint


def test_a_folder_without_a_job(tmp_path):
    error = refused(tmp_path)
    assert error.code == "FI002"
    assert "holds no job.toml" in str(error)


def test_a_folder_named_like_a_job_file(tmp_path):
    (tmp_path / "job.toml").mkdir()
    error = refused(tmp_path)
    assert error.code == "FI002"
    assert "not a file" in str(error)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "job.toml")
    assert refused(tmp_path).code == "FI002"


@pytest.mark.parametrize("content", [b"", b"   \n\n\t\n"])
def test_empty(tmp_path, content):
    (tmp_path / "job.toml").write_bytes(content)
    error = refused(tmp_path)
    assert error.code == "FI005"
    assert "empty" in str(error)


def test_only_comments(tmp_path):
    (tmp_path / "job.toml").write_text("# nothing yet\n", encoding="utf-8")
    assert refused(tmp_path).code == "FI005"


def test_too_large_is_not_read(tmp_path, monkeypatch):
    path = tmp_path / "job.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    monkeypatch.setattr(source.tomllib, "loads", lambda text: pytest.fail("it was read"))
    monkeypatch.setattr(source, "_decode", lambda data, name: pytest.fail("it was read"))
    error = refused(path)
    assert error.code == "FI003"
    assert "50.0 MB" in str(error)
    assert "at most 5 MB" in str(error)


def test_not_utf8_names_the_byte(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(b'format = 1\nname = "Br\xfccke"\n')
    error = refused(path)
    assert error.code == "FI004"
    assert "line 2" in str(error)
    assert "byte 0xfc at offset 21" in str(error)
    assert "encoding UTF-8" in error.hint


def test_utf16_is_not_utf8(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(template_text().encode("utf-16"))
    assert refused(path).code == "FI004"


def test_windows_line_ends_and_byte_order_mark_are_read(tmp_path):
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + template_text().replace("\n", "\r\n").encode())
    assert load_job(path).name == "Template crossing"


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("format = 1\nname = Kestrel\n", 2, "Invalid value"),
        ('format = 1\nname = "Kestrel\nscale = 1\n', 2, "Illegal character"),
        ("format = 1\nformat = 2\n", 2, "this key stands twice"),
        ("format = 1\n[marks\n", 2, "Expected ']'"),
        ("format = 1\na = [1, 2\n", 3, "end of the file"),
        ("format = 1\n[datum]\n[a]\n[datum]\n", 4, "the table datum stands twice, in '[datum]'"),
        ("format = 1\n[a.b]\n[a.b]\n", 3, "the table a.b stands twice"),
        ("format = 1\na = { b = 1 }\n[a]\n", 3, "the table a stands twice"),
        ("format = 1\na = { b = 1, b = 2 }\n", 2, "the key b stands twice"),
        ('format = 1\na = "x" "y"\n', 2, "Expected newline"),
    ],
)
def test_not_toml_names_the_line(tmp_path, text, line, words):
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    error = refused(path)
    assert error.code == "FI006"
    assert f"line {line}" in str(error)
    assert words in str(error)


def test_brackets_too_deep(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("a = " + "[" * 100_000, encoding="utf-8")
    error = refused(path)
    assert error.code == "FI006"


def test_a_number_beyond_all_measure(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("b = 1\na = " + "9" * 5000, encoding="utf-8")
    error = refused(path)
    assert error.code == "FI006"
    assert "line 2: this is not TOML: a number has more figures than can be meant" in str(error)
    assert "sys." not in str(error)


def test_a_huge_hexadecimal_number(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("format = 0x" + "f" * 5000, encoding="utf-8")
    with pytest.raises(InputError, match="read a huge number"):
        load_job(path)


def test_no_format(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("a = 1", encoding="utf-8")
    with pytest.raises(InputError, match="it has no format; expected format = 1 at its top"):
        load_job(path)


@pytest.mark.skipif(sys.platform == "win32" or os.geteuid() == 0, reason="needs permissions that bind")
def test_not_readable(tmp_path):
    path = tmp_path / "job.toml"
    path.write_text("a = 1", encoding="utf-8")
    path.chmod(0)
    assert "cannot be read" in str(refused(path))


def test_an_error_of_the_system_is_told(tmp_path, monkeypatch):
    path = tmp_path / "job.toml"
    path.write_text("a = 1", encoding="utf-8")

    def broken(self, *args, **kwargs):
        raise OSError(5, "the disk does not answer")

    monkeypatch.setattr(type(path), "open", broken)
    assert "the disk does not answer" in str(refused(path))


@pytest.mark.parametrize("broken", [False, True])
def test_the_file_is_left_as_it_was(tmp_path, broken):
    path = tmp_path / "job.toml"
    path.write_text(template_text() + ("\nwrong = 1\n" if broken else ""), encoding="utf-8")
    before = path.read_bytes(), path.stat().st_mtime_ns, sorted(tmp_path.iterdir())
    path.chmod(0o444)
    if broken:
        with pytest.raises(ValueError, match="wrong"):
            load_job(path)
    else:
        load_job(path)
    assert (path.read_bytes(), path.stat().st_mtime_ns, sorted(tmp_path.iterdir())) == before


def test_the_nearest_word():
    assert source.nearest("Calliper", ["tape", "caliper"]) == "caliper"
    assert source.nearest("zzz", ["tape", "caliper"]) == ""


def test_long_lists_are_cut():
    assert source.listed(map(str, range(40))).endswith("29 and 10 more")
