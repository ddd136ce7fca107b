"""The commands as who runs a site types them: each in a process and a folder of its own."""

import os
import socket
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

CODE = Path(__file__).parents[2]
WORD = "kiln-shelf-41"
HARD_NAME = "Ceramics #2 at 5% (what?) it's"


@pytest.fixture
def run(tmp_path):
    """Return ``run(*words)``: a command of the site whose home has a hard name."""
    place = tmp_path / HARD_NAME
    place.mkdir()
    own = {"DATABASE_URL", "MEDIA_ROOT", "SECRET_KEY", "DJANGO_SETTINGS_MODULE", "DEBUG"}
    environment = {key: value for key, value in os.environ.items() if key not in own}
    environment["RIM_AND_REASON_HOME"] = str(place)

    def run_it(*words, **more):
        return subprocess.run(
            [sys.executable, "manage.py", *words],
            cwd=CODE,
            env=environment | more,
            capture_output=True,
            text=True,
            timeout=300,
            stdin=subprocess.DEVNULL,
            check=False,
        )

    run_it.place = place
    return run_it


def begin(run, *more):
    return run("begin", "--teacher", "thea", "--password", WORD, *more)


def test_a_school_begins_in_a_folder_of_any_name_and_serves_only_then(run):
    too_early = run("serve", "--port", "0")
    assert too_early.returncode == 1
    assert "First: python manage.py begin" in too_early.stderr
    assert "Traceback" not in too_early.stderr
    done = begin(run)
    assert done.returncode == 0, done.stderr
    assert "thea may sign in" in done.stdout
    found = {file.relative_to(run.place).parts[0] for file in run.place.rglob("*")}
    assert found <= {".data", "media"}
    assert (run.place / ".data" / "studio.sqlite3").exists()
    assert not list(run.place.parent.glob("Ceramics "))  # where a cut address would lead


def test_who_begins_again_is_told_what_is_there(run):
    begin(run)
    again = run("begin")
    assert again.returncode == 0
    assert "up to date" in again.stdout
    assert "A teacher may sign in already" in again.stdout
    same = begin(run)
    assert same.returncode == 1
    assert "the login was left as it is" in same.stderr


def test_an_upgrade_keeps_a_backup_of_what_was_there(run):
    early = run("upgrade")
    assert (early.returncode, "First: python manage.py begin" in early.stderr) == (1, True)
    begin(run)
    assert "nothing was changed" in run("upgrade").stdout
    database = run.place / ".data" / "studio.sqlite3"
    with sqlite3.connect(database) as records:
        # As a site of an earlier version has it: the session's own table was not there yet.
        records.execute("DROP TABLE django_session")
        records.execute("DELETE FROM django_migrations WHERE app = 'sessions'")
    refused = run("serve", "--port", "0")
    assert (refused.returncode, "python manage.py upgrade" in refused.stderr) == (1, True)
    done = run("upgrade")
    assert done.returncode == 0, done.stderr
    assert "(1 step)" in done.stdout
    (backup,) = (run.place / ".data" / "backups").glob("before-upgrade-*.zip")
    assert str(backup) in done.stdout
    assert "nothing was changed" in run("upgrade").stdout


def test_a_home_that_cannot_be_made_is_a_sentence(run):
    (run.place / "file").write_text("in the way")
    told = run("begin", RIM_AND_REASON_HOME=str(run.place / "file"))
    assert told.returncode == 1
    assert "cannot be made" in told.stderr
    assert "Traceback" not in told.stderr


def test_the_demo_keeps_its_passwords_and_says_that_it_runs(run):
    def words(text):
        return [line.split() for line in text.splitlines() if line.startswith("  demo-")]

    first = run("demo", "--no-serve")
    assert first.returncode == 0, first.stderr
    assert len(words(first.stdout)) == 3
    again = run("demo", "--no-serve")
    assert words(again.stdout) == words(first.stdout)
    assert "stands as you left it" in again.stdout
    with socket.create_server(("127.0.0.1", 0)) as held:
        port = held.getsockname()[1]
        taken = run("demo", "--port", str(port))
    assert taken.returncode == 1
    assert "Another program may hold it" in taken.stderr
    other = run("demo", "--no-serve", "--password", WORD)
    assert {word for _name, word in words(other.stdout)} == {WORD}


def test_a_demo_that_does_not_find_its_folder_calls_no_other(run):
    told = run("demo", "--no-serve", RIM_AND_REASON_DEMO_APART="1")
    assert told.returncode == 1
    assert "does not find its own folder" in told.stderr
