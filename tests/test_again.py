"""What is printed to be typed again is what a person can type in that place."""

import sys

from listen.commands import again


def test_listen_is_called_by_its_name_where_the_shell_finds_it_and_else_by_its_path(
    monkeypatch, tmp_path
):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "argv", [str(tmp_path / ".venv" / "bin" / "listen"), "locate", "a b"])
    monkeypatch.setattr(again.shutil, "which", lambda name: None)
    assert again.this_again() == ".venv/bin/listen locate 'a b'"
    monkeypatch.setattr(again.shutil, "which", lambda name: f"/usr/bin/{name}")
    assert again.this_again() == "listen locate 'a b'"


def test_a_module_that_was_started_is_called_by_the_command_s_name(monkeypatch):
    monkeypatch.setattr(sys, "argv", ["/somewhere/listen/__main__.py", "demo"])
    monkeypatch.setattr(again.shutil, "which", lambda name: None)
    assert again.this_again() == "listen demo"
