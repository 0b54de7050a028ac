"""Every text of the job file is kept; a step back keeps what is built; what fails leaves the file whole."""

import datetime
import os
import tomllib
from pathlib import Path

import pytest

from spanwright.errors import FileFormatError
from spanwright.files import history
from spanwright.files.history import BY_HAND, FIRST, back_to, change, history_folder, kept_texts
from spanwright.files.versions.built import Built, with_built

DAY = datetime.date(2026, 3, 7)
ONE, TWO, THREE = (f'# mine\nname = "a"\ncap = "{n}"  # by eye\n' for n in (1, 2, 3))


@pytest.fixture
def job(tmp_path):
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "job.toml").write_text(ONE, encoding="utf-8", newline="")
    return folder


def text_of(job):
    return (job / "job.toml").read_bytes().decode("utf-8")


def write(job, text):
    (job / "job.toml").write_bytes(text.encode("utf-8"))


def told(job):
    return [(k.number, k.why, k.text) for k in kept_texts(job)]


def everything(folder):
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_both_texts_are_kept_under_plain_names(job):
    done = change(job, TWO, "taken cap 1.9 mm thinner", today=DAY)
    assert text_of(job) == TWO
    assert told(job) == [(1, FIRST, ONE), (2, "taken cap 1.9 mm thinner", TWO)]
    assert sorted(p.name for p in (job / "history").iterdir()) == [
        "0001 2026-03-07 before the first change.toml",
        "0002 2026-03-07 taken cap 1.9 mm thinner.toml",
    ]
    assert (done.former.number, done.now.number, done.by_hand) == (1, 2, False)


def test_the_next_change_keeps_no_text_twice(job):
    change(job, TWO, "two", today=DAY)
    change(job, THREE, "three", today=DAY)
    assert [text for _, _, text in told(job)] == [ONE, TWO, THREE]


def test_an_edit_by_hand_is_kept_before_it_is_changed(job):
    change(job, TWO, "two", today=DAY)
    write(job, TWO + "# a thought\n")
    done = change(job, THREE, "three", today=DAY)
    assert done.by_hand
    assert told(job)[2:] == [(3, BY_HAND, TWO + "# a thought\n"), (4, "three", THREE)]


def test_a_step_back_is_a_change_and_can_be_undone(job):
    change(job, TWO, "two", today=DAY)
    change(job, THREE, "three", today=DAY)
    for number, text in ((1, ONE), (3, THREE), (2, TWO)):
        change(job, back_to(job, number).text, f"back to {number}", today=DAY)
        assert text_of(job) == text
    assert [text for _, _, text in told(job)] == [ONE, TWO, THREE, ONE, THREE, TWO]


def test_line_ends_and_signs_come_back_as_they_were(job):
    old = '# Brücke ± …\r\nname = "a"\r\n'
    write(job, old)
    change(job, TWO, "two", today=DAY)
    change(job, back_to(job, 1).text, "back", today=DAY)
    assert text_of(job) == old


@pytest.mark.parametrize(
    ("why", "name"),
    [
        ('a/b\\c: "d" <e>?*|\n\x1b', "a b c d e"),
        ("  ...  ", "changed"),
        ("x" * 500, "x" * 120),
        ("±" * 100, "±" * 60),
        ("../../away", "away"),
    ],
)
def test_any_words_make_a_name(job, why, name):
    kept = change(job, TWO, why, today=DAY).now
    assert kept.path.parent == job / "history"
    assert kept.why == name
    assert kept_texts(job)[-1].why == kept.why


def test_a_file_of_another_name_has_a_history_of_its_own(job):
    other = job / "thin cap.toml"
    other.write_text(ONE, encoding="utf-8")
    change(other, TWO, "two", today=DAY)
    assert history_folder(other) == job / "thin cap history"
    assert not kept_texts(job)
    assert len(kept_texts(other)) == 2


def test_what_was_changed_meanwhile_is_not_overwritten(job):
    write(job, THREE)
    before = everything(job)
    with pytest.raises(FileFormatError, match="changed while this was worked out") as caught:
        change(job, TWO, "two", made_from=ONE, today=DAY)
    assert caught.value.code == "FI014"
    assert everything(job) == before


@pytest.mark.parametrize(("number", "limit"), [(0, "1 to 2"), (3, "1 to 2"), (-1, "1 to 2")])
def test_a_number_that_is_not_there(job, number, limit):
    change(job, TWO, "two", today=DAY)
    with pytest.raises(FileFormatError, match=f"read {number}; expected {limit}") as caught:
        back_to(job, number)
    assert caught.value.code == "FI015"


def test_nothing_to_go_back_to(job):
    with pytest.raises(FileFormatError, match="nothing to go back to"):
        back_to(job, 1)


def test_two_texts_of_one_number(job):
    change(job, TWO, "two", today=DAY)
    (job / "history" / "0002 2026-03-08 a copy.toml").write_text(ONE, encoding="utf-8")
    with pytest.raises(FileFormatError, match="two texts of this number"):
        back_to(job, 2)
    assert change(job, THREE, "three", today=DAY).now.number in (3, 4)


def test_foreign_files_are_left_alone(job):
    (job / "history").mkdir()
    (job / "history" / "notes.txt").write_text("mine", encoding="utf-8")
    change(job, TWO, "two", today=DAY)
    assert len(kept_texts(job)) == 2
    assert (job / "history" / "notes.txt").read_text(encoding="utf-8") == "mine"


@pytest.mark.skipif(os.geteuid() == 0 if hasattr(os, "geteuid") else True, reason="writes everywhere")
def test_a_read_only_folder(job):
    before = everything(job)
    job.chmod(0o555)
    try:
        with pytest.raises(FileFormatError, match=r"left as it was|cannot be kept"):
            change(job, TWO, "two", today=DAY)
    finally:
        job.chmod(0o755)
    assert everything(job) == before


def test_a_folder_that_may_not_be_written_to(job, monkeypatch):
    def refuse(*_, **__):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("tempfile.mkstemp", refuse)
    with pytest.raises(FileFormatError, match=r"kept \(Permission denied\), so the file was left") as caught:
        change(job, TWO, "two", today=DAY)
    assert caught.value.code == "FI011"
    assert everything(job) == {"job.toml": ONE.encode()}


def test_a_history_that_is_a_file(job):
    (job / "history").write_text("mine", encoding="utf-8")
    before = everything(job)
    with pytest.raises(FileFormatError, match="history of the job file cannot be kept") as caught:
        change(job, TWO, "two", today=DAY)
    assert caught.value.code == "FI011"
    assert everything(job) == before


@pytest.mark.parametrize("at", range(1, 4))
@pytest.mark.parametrize("how", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_whatever_stops_it_the_file_is_whole(job, monkeypatch, at, how):
    """The first, second, third text that is written whole is stopped at its last act: the sync."""
    calls, sync = [], os.fsync

    def stopped(handle):
        calls.append(handle)
        if len(calls) == at:
            raise how
        sync(handle)

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises((FileFormatError, KeyboardInterrupt)):
        change(job, TWO, "two", today=DAY)
    monkeypatch.undo()
    assert text_of(job) == ONE
    assert [text for _, _, text in told(job)] == ([ONE] if at > 1 else [])
    assert not list(job.rglob("*.part"))
    change(job, TWO, "two", today=DAY)
    assert text_of(job) == TWO
    assert [text for _, _, text in told(job)] == [ONE, TWO]


def test_killed_between_the_two_texts_nothing_is_lost(job, monkeypatch):
    """No clearing up at all: the new text is kept, the file is still the old one."""

    class Killed(BaseException):
        pass

    def killed(*_):
        raise Killed

    monkeypatch.setattr(history, "write_text_atomic", killed)
    monkeypatch.setattr(Path, "unlink", lambda *_, **__: None)
    with pytest.raises(Killed):
        change(job, TWO, "two", today=DAY)
    monkeypatch.undo()
    assert text_of(job) == ONE
    change(job, THREE, "three", today=DAY)
    assert {text for _, _, text in told(job)} == {ONE, TWO, THREE}


MEASURED = '\n[[measured]]\nwhat = "pier 1/seat"\nabove = "P1"\nis = "84.2"\nby = "caliper"\n'
MADE = '\n[[made]]\npart = "pier 1/shaft"\nstate = "{}"\n'


def test_what_is_built_stays_when_the_file_goes_back(job):
    change(job, TWO + MEASURED + MADE.format("built"), "measured", today=DAY)
    found = back_to(job, 1)
    assert [b.table for b in found.built] == ["measured", "made"]
    assert "84.2" in found.built[0].said
    assert found.text.startswith(ONE)
    values = tomllib.loads(found.text)
    assert values["measured"] == tomllib.loads(MEASURED)["measured"]
    assert values["made"] == [{"part": "pier 1/shaft", "state": "built"}]
    bare = back_to(job, 1, carry=False)
    assert bare.text == ONE
    assert bare.built == found.built


@pytest.mark.parametrize("built", [MEASURED + MADE.format("cut"), MADE.format("cut") + MEASURED])
def test_the_order_of_the_tables_is_kept(job, built):
    change(job, ONE + built, "built", today=DAY)
    assert back_to(job, 1).text == ONE + built


def test_a_part_that_went_on_keeps_its_last_state(job):
    write(job, ONE + MADE.format("cut"))
    change(job, TWO + MADE.format("built"), "built", today=DAY)
    found = back_to(job, 1)
    assert found.text == ONE + MADE.format("built")
    assert found.built == (
        Built(
            table="made",
            said='part = "pier 1/shaft", state = "built"',
            instead_of='part = "pier 1/shaft", state = "cut"',
        ),
    )


def test_repeated_readings_of_one_thing_are_all_carried():
    older = "[[measured]]\nwhat = 'a'\nis = 1\n"
    newer = older + "[[measured]]\nwhat = 'a'\nis = 2\n" + older
    text, built = with_built(older, newer, "x")
    assert [b.said for b in built] == ['what = "a", is = 2', 'what = "a", is = 1']
    assert sorted(e["is"] for e in tomllib.loads(text)["measured"]) == [1, 1, 2]


@pytest.mark.parametrize(
    "older",
    [
        'measured = [{ id = "m0", is = 3 }]\n[bridge]\nx = 1\n',
        "[bridge]\nx = 1\n[[supports]]\nname = 'p'\n[[supports]]\nname = 'q'",
        "[[measured]]\nid = 'm0'\nis = 3\n[bridge]\nx = 1\n",
        "made = []\n[bridge]\nx = 1\n",
    ],
)
def test_entries_find_their_place_in_any_form(older):
    newer = "[[measured]]\nid = 'm1'\nis = 1\n[[made]]\npart = 'p'\nstate = 'cut'\n"
    text, built = with_built(older, newer, "x")
    there, now = tomllib.loads(older), tomllib.loads(text)
    assert len(built) == 2
    assert now["measured"] == [*there.get("measured", []), {"id": "m1", "is": 1}]
    assert now["made"] == [{"part": "p", "state": "cut"}]
    assert {k: v for k, v in now.items() if k not in ("measured", "made")} == {
        k: v for k, v in there.items() if k not in ("measured", "made")
    }
    assert with_built(text, newer, "x") == (text, ())


def test_a_reading_that_was_corrected_takes_the_place_of_the_wrong_one():
    older = '[[measured]]\nwhat = "a"\nis = "84.2"\n[[measured]]\nwhat = "b"\nis = "1"\n'
    newer = older.replace("84.2", "82.4")
    text, built = with_built(older, newer, "x")
    assert text == newer
    assert [(b.said, b.instead_of) for b in built] == [('what = "a", is = "82.4"', 'what = "a", is = "84.2"')]


def test_a_text_that_cannot_hold_what_is_built_is_refused(job):
    write(job, "name = \n")
    change(job, TWO + MADE.format("cut"), "mended", today=DAY)
    with pytest.raises(FileFormatError, match="cannot hold what is built") as caught:
        back_to(job, 1)
    assert caught.value.code == "FI016"
    assert "pier 1/shaft" in str(caught.value)
    assert back_to(job, 1, carry=False).text == "name = \n"


@pytest.mark.parametrize("broken", ["name = \n", "", "   \n"])
def test_from_a_broken_file_the_last_readable_text_tells_what_is_built(job, broken):
    change(job, TWO + MADE.format("cut"), "cut", today=DAY)
    write(job, broken)
    found = back_to(job, 1)
    assert found.read_from is not None
    assert found.read_from.number == 2
    assert tomllib.loads(found.text)["made"] == [{"part": "pier 1/shaft", "state": "cut"}]
    change(job, found.text, "back", made_from=found.made_from, today=DAY)
    assert told(job)[2][1:] == (BY_HAND, broken if broken.strip() else "")
