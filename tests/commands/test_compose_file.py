"""docker-compose.yml: what it starts is in the repository, and it gives nothing away.

The shape follows the Compose Specification (from memory); no engine runs here.
"""

from __future__ import annotations

import importlib
import re
import shlex

import pytest
import yaml
from django.core.management import get_commands

from tests.installation import REPOSITORY

TEXT = (REPOSITORY / "docker-compose.yml").read_text(encoding="utf-8")
FILE = yaml.safe_load(TEXT)
SERVICES = FILE["services"]
OURS = ("web", "worker", "beat")


def words(command):
    listed = command if isinstance(command, list) else shlex.split(command)
    return [word for part in listed for word in shlex.split(part)]


def test_the_five_services_are_there():
    assert set(SERVICES) == {*OURS, "postgres", "redis"}


@pytest.mark.parametrize("name", SERVICES)
def test_every_service_says_when_it_is_well(name):
    check = SERVICES[name]["healthcheck"]

    assert check["test"][0] in {"CMD", "CMD-SHELL"}
    assert {"interval", "timeout", "retries"} <= set(check)


@pytest.mark.parametrize("name", OURS)
def test_our_processes_are_nobody_special(name):
    service = SERVICES[name]

    assert service["user"].split(":")[0] not in {"0", "root"}
    assert service["read_only"]
    assert service["cap_drop"] == ["ALL"]


@pytest.mark.parametrize("name", ["postgres", "redis"])
def test_images_are_pinned_to_a_release(name):
    assert re.fullmatch(rf"{name}:\d+", SERVICES[name]["image"])


def test_our_own_image_starts_from_a_pinned_one_and_checks_hashes():
    recipe = (REPOSITORY / SERVICES["web"]["build"]["dockerfile"]).read_text(encoding="utf-8")

    assert "FROM python:3.11-slim\n" in recipe
    assert "--require-hashes -r .pins/grown.txt" in recipe
    for source in re.findall(r"^COPY (?:--\S+ )?(.+) \S+$", recipe, re.MULTILINE):
        assert all((REPOSITORY / path).exists() for path in source.split())


def test_no_secret_is_written_down():
    """Whatever is called a password, secret, key or token comes from outside the file."""
    secrets = re.findall(r"^\s*\w*(?:PASSWORD|SECRET|KEY|TOKEN)\w*:\s*(.+)$", TEXT, re.MULTILINE)
    addresses = re.findall(r"://(\w+):(.+?)@", TEXT)

    assert secrets
    assert all(value.startswith("${") for value in secrets)
    assert addresses
    assert all(password.startswith("${") for _, password in addresses)


def test_only_this_machine_is_answered():
    published = {name: service.get("ports") for name, service in SERVICES.items()}

    assert published.pop("web") == ["127.0.0.1:8000:8000"]
    assert set(published.values()) == {None}


def test_named_volumes_and_dependencies_exist():
    for service in SERVICES.values():
        assert {volume.partition(":")[0] for volume in service["volumes"]} <= set(FILE["volumes"])
        assert set(service.get("depends_on", {})) <= set(SERVICES)


def test_the_commands_it_starts_are_in_the_repository():
    web = words(SERVICES["web"]["command"])
    module, _, name = web[web.index("gunicorn") + 1].partition(":")

    assert hasattr(importlib.import_module(module), name)
    assert web[web.index("manage.py") + 1] in get_commands()
    for service, role in (("worker", "worker"), ("beat", "beat")):
        program, flag, application, asked, *_ = words(SERVICES[service]["command"])
        assert (program, flag, asked) == ("celery", "-A", role)
        assert importlib.import_module(application).celery_app.main == "renovation"


def test_the_settings_it_gives_are_ones_that_are_read():
    settings = (REPOSITORY / "renovation" / "settings.py").read_text(encoding="utf-8")

    for name in OURS:
        for setting in SERVICES[name]["environment"]:
            assert f'"{setting}"' in settings
