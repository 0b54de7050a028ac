"""A job file to change: the template that a new job starts with."""

import pytest

from spanwright.errors import InputError
from spanwright.files.job_file import load_job
from spanwright.files.template import template_text


class Edited:
    """The template with some text replaced, as a file."""

    def __init__(self, folder):
        self.path = folder / "job.toml"
        self.text = template_text()

    def replace(self, old, new):
        assert self.text.count(old) >= 1, f"{old!r} is not in the template"
        self.text = self.text.replace(old, new, 1)
        return self

    def line_of(self, text):
        return self.text.count("\n", 0, self.text.index(text)) + 1

    def load(self):
        self.path.write_text(self.text, encoding="utf-8")
        return load_job(self.path)

    def error(self):
        with pytest.raises(InputError) as caught:
            self.load()
        assert "\n" not in str(caught.value), "one message, on one line"
        assert str(caught.value).startswith(str(self.path))
        return caught.value


@pytest.fixture
def job(tmp_path):
    return Edited(tmp_path)
