"""A book is written whole, in place of an older one and of nothing else."""

from pathlib import Path

import pytest

from spanwright.errors import FileFormatError
from spanwright.files import book_files
from spanwright.files.book_files import CONTENTS, write_book

FILES = {"book.pdf": b"one", "patterns/top.svg": b"two"}


def held(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_all_files_are_there_with_their_list(tmp_path):
    told = []
    folder = write_book(tmp_path / "out", FILES, lambda done, total: told.append((done, total)))
    found = held(folder)
    assert {name: found[name] for name in FILES} == FILES
    assert [line.split("  ")[1] for line in found[CONTENTS].decode().splitlines()] == sorted(FILES)
    assert told == [(1, 2), (2, 2)]
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_an_older_book_is_replaced_whole(tmp_path):
    write_book(tmp_path / "out", FILES)
    folder = write_book(tmp_path / "out", {"book.pdf": b"new"})
    assert set(held(folder)) == {"book.pdf", CONTENTS}
    assert (folder / "book.pdf").read_bytes() == b"new"


def test_a_file_of_somebody_else_is_named_and_kept(tmp_path):
    folder = write_book(tmp_path / "out", FILES)
    (folder / "notes.txt").write_text("mine", encoding="utf-8")
    before = held(folder)
    with pytest.raises(FileFormatError, match=r"notes\.txt"):
        write_book(folder, {"book.pdf": b"new"})
    assert held(folder) == before


def test_a_sheet_that_was_filled_in_is_kept(tmp_path):
    folder = write_book(tmp_path / "out", FILES)
    (folder / "patterns" / "top.svg").write_bytes(b"filled in")
    with pytest.raises(FileFormatError, match="changed since"):
        write_book(folder, FILES)


def test_a_folder_that_was_there_before_is_not_taken(tmp_path):
    (tmp_path / "photo.jpg").write_bytes(b"x")
    with pytest.raises(FileFormatError, match=r"photo\.jpg"):
        write_book(tmp_path, FILES)


def test_an_empty_folder_is_taken(tmp_path):
    (tmp_path / "out").mkdir()
    assert "book.pdf" in held(write_book(tmp_path / "out", FILES))


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "out").write_text("x", encoding="utf-8")
    with pytest.raises(FileFormatError, match="needs a folder"):
        write_book(tmp_path / "out", FILES)


def test_a_parent_that_is_not_there_is_said(tmp_path):
    with pytest.raises(FileFormatError, match="cannot be written"):
        write_book(tmp_path / "none" / "out", FILES)


@pytest.mark.parametrize("step", ["_write", "_swap"])
def test_the_old_book_survives_a_failure(tmp_path, monkeypatch, step):
    folder = write_book(tmp_path / "out", FILES)
    before = held(folder)

    def fail(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(book_files, step, fail)
    with pytest.raises(FileFormatError, match="No space left"):
        write_book(folder, {"book.pdf": b"new"})
    assert held(folder) == before
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_the_old_book_comes_back_if_the_new_one_cannot_take_its_place(tmp_path, monkeypatch):
    folder = write_book(tmp_path / "out", FILES)
    before = held(folder)
    rename = Path.rename

    def stubborn(self, target):
        if self.name.endswith(".part"):
            raise OSError(13, "Permission denied")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", stubborn)
    with pytest.raises(FileFormatError, match="Permission denied"):
        write_book(folder, {"book.pdf": b"new"})
    monkeypatch.undo()
    assert held(folder) == before
