"""The history as a user sees it: listed, stepped back, and refused in one line."""

from spanwright.files.history import change, current_text

MADE = '\n[[made]]\npart = "pier/shaft"\nstate = "cut"\n'


def test_nothing_is_kept_yet(cli, make_job):
    result = cli("history", make_job())
    assert (result.status, result.err) == (0, "")
    assert "nothing is kept yet" in result.out


def test_changes_are_listed_and_stepped_back(cli, make_job):
    job = make_job()
    first = current_text(job)
    change(job, first.replace('unit   = "mm"', 'unit   = "inch"'), "inches shown")
    now = current_text(job)
    assert now != first
    (job / "job.toml").write_text(now + "# a thought\n", encoding="utf-8")
    listed = cli("history", job)
    assert listed.status == 0
    for told in ("2  20", "inches shown", '- unit   = "mm"', '+ unit   = "inch"', "edited by hand since"):
        assert told in listed.out
    assert len(list((job / "history").iterdir())) == 2  # a look keeps nothing
    back = cli("history", job, "--back", "1")
    assert (back.status, back.err) == (0, "")
    assert current_text(job) == first
    assert "kept as number 3" in back.out
    assert "--back 3" in back.out
    cli("history", job, "--back", "3")
    assert current_text(job) == now + "# a thought\n"
    again = cli("history", job, "--back", "3")
    assert "nothing was changed" in again.out
    assert len(list((job / "history").iterdir())) == 5


def test_what_is_built_is_carried_over_and_said(cli, make_job):
    job = make_job()
    first = current_text(job)
    change(job, first + MADE, "shaft cut")
    back = cli("history", job, "--back", "1")
    assert (
        'Carried over, since that text lacked it:\n  [[made]] part = "pier/shaft", state = "cut"' in back.out
    )
    assert current_text(job) == first + MADE
    bare = cli("history", job, "--back", "1", "--as-it-was")
    assert "what was cut stays cut" in bare.out
    assert 'part = "pier/shaft", state = "cut"' in bare.out
    assert current_text(job) == first


def test_a_text_that_is_no_job_is_said(cli, make_job):
    job = make_job()
    good = current_text(job)
    (job / "job.toml").write_text('format = 1\nname = "a"\n', encoding="utf-8")
    change(job, good, "mended")
    back = cli("history", job, "--back", "1")
    assert (back.status, back.err) == (0, "")
    assert "It cannot be used as it stands" in back.out


def test_bad_arguments_are_refused_in_one_line(cli, make_job, tmp_path):
    job = make_job()
    for arguments, told in (
        ((job, "--back", "1"), "nothing is kept yet"),
        ((job, "--back", "x"), "--back"),
        ((job, "--as-it-was"), "--back N"),
        ((tmp_path / "away",), "no such file"),
    ):
        result = cli("history", *arguments)
        assert result.status == 2
        assert told in result.err
        assert result.err.count("\n") == 1
    assert not (job / "history").exists()


def test_a_remedy_that_is_taken_is_kept(cli, make_job):
    job = make_job(('aisle = "22", wall = "22"', 'aisle = "3", wall = "22"'))
    first = current_text(job)
    taken = cli("remedies", job, "--take", "1")
    assert taken.err == ""
    assert "To go back: spanwright history" in taken.out
    assert current_text(job) != first
    names = sorted(p.name for p in (job / "history").iterdir())
    assert [name[:4] for name in names] == ["0001", "0002"]
    assert "remedy taken, " in names[1]
    cli("history", job, "--back", "1")
    assert current_text(job) == first
    assert [p.name for p in job.iterdir() if p.name not in ("job.toml", "history")] == []
