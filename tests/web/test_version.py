"""The version that a page shows, and what a package needs to run without its checkout."""

import re
import tomllib
from pathlib import Path
from unittest import mock

from django.conf import settings
from django.test import SimpleTestCase, TestCase
from django.urls import reverse

from studio import settings as site
from tests.web.test_doors import ARGUMENTS, DOORS
from tests.world import make_world

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


class VersionTest(SimpleTestCase):
    def test_a_page_that_anybody_reads_shows_the_projects_version(self):
        page = self.client.get("/nothing/here/", follow=True).content.decode()
        assert f"Version {PROJECT['project']['version']}" in page

    def test_a_checkout_keeps_its_data_and_its_demo_beside_the_code(self):
        assert settings.HOME_DIR == ROOT
        assert (settings.FIXTURES_DIR / "demo" / "scenario.json").exists()

    def test_a_package_finds_its_demo_in_what_it_installs(self):
        # The names under which the package puts the fixtures are those that the settings look for.
        wanted = {f"share/rim-and-reason/{name}" for name in ("demo", "photos")}
        assert wanted == set(PROJECT["tool"]["setuptools"]["data-files"])
        with mock.patch.object(site, "IS_CHECKOUT", new=False):
            assert site.fixtures().parts[-2:] == ("share", "rim-and-reason")

    def test_the_command_that_a_package_installs_is_there(self):
        module, _, name = PROJECT["project"]["scripts"]["rim-and-reason"].partition(":")
        assert callable(getattr(__import__(module, fromlist=[name]), name))


class EveryPageTest(TestCase):
    def test_no_page_takes_another_number_for_the_sites_version(self):
        world = make_world()
        self.client.force_login(world.people["teacher"])
        shown = 0
        for name in DOORS["GET"]:
            path = reverse(name, kwargs={key: world.ids[key] for key in ARGUMENTS[name]})
            answer = self.client.get(path)
            if "text/html" not in answer.headers.get("Content-Type", ""):
                continue
            told = re.findall(r"Version ([\w.]+)</span></div></footer>", answer.content.decode())
            shown += len(told)
            with self.subTest(address=name):
                assert set(told) <= {settings.VERSION}
        assert shown > 50
