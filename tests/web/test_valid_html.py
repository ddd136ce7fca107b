"""Every page by the Nu Html Checker, which holds the standard of the WHATWG.

It needs Java and the checker's jar (``vnu-jar``, from the registry of node packages), whose place
``VNU_JAR`` names; one command runs it: see DEVELOPERS.md.
"""

import json
import os
import shutil
import subprocess
from collections import defaultdict
from pathlib import Path

import pytest
from django.urls import reverse

from tests.web.test_doors import ARGUMENTS, DOORS, ROLES
from tests.world import make_world

JAR = os.environ.get("VNU_JAR", "")

pytestmark = [
    pytest.mark.skipif(not JAR or not Path(JAR).is_file(), reason="VNU_JAR names no checker"),
    pytest.mark.skipif(not shutil.which("java"), reason="there is no Java here"),
]


def pages(client, world, folder: Path):
    """Write every page that anybody reads into the folder; a page that a script asks for is whole
    only inside of another."""
    for role in ROLES:
        client.logout()
        if world.people[role] is not None:
            client.force_login(world.people[role])
        for name in DOORS["GET"]:
            path = reverse(name, kwargs={key: world.ids[key] for key in ARGUMENTS[name]})
            answer = client.get(path)
            if "text/html" in answer.headers.get("Content-Type", "") and answer.content.startswith(
                b"<!doctype"
            ):
                (folder / f"{name}-{role}.html").write_bytes(answer.content)


def test_every_page_is_valid(client, db, tmp_path):
    pages(client, make_world(), tmp_path)
    assert len(list(tmp_path.iterdir())) > 100
    done = subprocess.run(
        ["java", "-jar", JAR, "--errors-only", "--format", "json", str(tmp_path)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    found = defaultdict(set)
    for each in json.loads(done.stderr)["messages"]:
        found[each["message"]].add(Path(each["url"]).stem)
    assert not found, "\n".join(f"{words}: {sorted(on)[:4]}" for words, on in found.items())
