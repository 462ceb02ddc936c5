"""docker-compose.yml: a valid Compose file that starts what is in the repository and gives nothing
away.

No engine runs here. It is validated against the JSON Schema that the Compose Specification
publishes (github.com/compose-spec/compose-spec, schema/compose-spec.json, Apache License 2.0), as
carried by the package check-jsonschema 0.39.0; its licence lies beside it in `data/`.
"""

from __future__ import annotations

import copy
import hashlib
import importlib
import json
import re

import jsonschema
import pytest
from django.core.management import get_commands

from tests.compose import as_module, compose_file, steps
from tests.installation import REPOSITORY, Installation

TEXT = (REPOSITORY / "docker-compose.yml").read_text(encoding="utf-8")
FILE = compose_file()
SERVICES = FILE["services"]
OURS = ("setup", "web", "worker", "beat")
STAYING = tuple(name for name in SERVICES if name != "setup")
SCHEMA_FILE = REPOSITORY / "tests" / "commands" / "data" / "compose-spec.json"
SCHEMA_SHA256 = "d549057ebc2925f39f62799eab0db7b9e2c18b35b6c00595199116da3ed10e64"


def valid(file):
    schema = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    return jsonschema.Draft202012Validator(schema).is_valid(file)


def test_the_schema_is_the_published_one():
    assert hashlib.sha256(SCHEMA_FILE.read_bytes()).hexdigest() == SCHEMA_SHA256


def test_it_is_a_compose_file_by_the_published_schema():
    schema = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))

    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(FILE)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda file: file["services"]["web"].update(imagge="lifted-boards"),
        lambda file: file["services"]["web"]["healthcheck"].update(interval=15.5),
        lambda file: file["services"]["web"]["depends_on"]["setup"].update(condition="ready"),
        lambda file: file["services"]["worker"].update(networks=7),
        lambda file: file.update(volume={}),
    ],
)
def test_the_schema_sees_a_mistake(spoil):
    spoilt = copy.deepcopy(FILE)
    spoil(spoilt)

    assert not valid(spoilt)


def test_the_services_are_there():
    assert set(SERVICES) == {*OURS, "postgres", "redis"}


@pytest.mark.parametrize("name", STAYING)
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
def test_images_are_pinned_to_an_exact_tag(name):
    """By release, patch and distribution. A digest needs a registry to ask."""
    assert re.fullmatch(rf"{name}:\d+\.\d+(\.\d+)?-[a-z]+", SERVICES[name]["image"])


def test_our_own_image_starts_from_a_pinned_one_and_checks_hashes():
    recipe = (REPOSITORY / SERVICES["web"]["build"]["dockerfile"]).read_text(encoding="utf-8")

    assert re.search(r"^FROM python:3\.11\.\d+-slim-[a-z]+$", recipe, re.MULTILINE)
    assert "--require-hashes -r .pins/grown.txt" in recipe
    assert re.search(r"^USER lifted$", recipe, re.MULTILINE)
    for source in re.findall(r"^COPY (?:--\S+ )?(.+) \S+$", recipe, re.MULTILINE):
        assert all((REPOSITORY / path).exists() for path in source.split())


def test_data_services_are_reached_from_inside_only():
    assert FILE["networks"]["inside"]["internal"] is True
    assert {name: SERVICES[name]["networks"] for name in ("postgres", "redis")} == {
        "postgres": ["inside"], "redis": ["inside"],
    }  # fmt: skip


def test_the_web_is_well_when_it_says_so_itself():
    code = SERVICES["web"]["healthcheck"]["test"][-1]

    assert "healthz" in code
    assert "readyz" in code
    compile(code, "healthcheck", "exec")


def test_nothing_starts_before_the_tables_are_up_to_date():
    for name in ("web", "worker", "beat"):
        after = SERVICES[name]["depends_on"]
        assert after["setup"] == {"condition": "service_completed_successfully"}
        assert after["redis"] == {"condition": "service_healthy"}
    assert SERVICES["setup"]["restart"] == "no"


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


def test_named_volumes_networks_and_dependencies_exist():
    for service in SERVICES.values():
        assert {volume.partition(":")[0] for volume in service["volumes"]} <= set(FILE["volumes"])
        assert set(service.get("networks", [])) <= set(FILE["networks"])
        assert set(service.get("depends_on", {})) <= set(SERVICES)


def test_the_commands_it_starts_are_in_the_repository():
    [web], [setup] = steps("web"), steps("setup")
    module, _, name = web[1].partition(":")

    assert web[0] == "gunicorn"
    assert hasattr(importlib.import_module(module), name)
    assert setup[:2] == ["python", "manage.py"]
    assert setup[2] in get_commands()
    for role in ("worker", "beat"):
        [[program, flag, application, asked, *_]] = steps(role)
        assert (program, flag, asked) == ("celery", "-A", role)
        assert importlib.import_module(application).celery_app.main == "renovation"


@pytest.mark.parametrize("name", OURS)
def test_the_service_tests_start_the_same_commands(name):
    """They take their words from this file, so what is tried there is what is started here."""
    folder = REPOSITORY / "tests" / "services"
    sources = "".join(path.read_text(encoding="utf-8") for path in folder.glob("*.py"))

    assert f'steps("{name}")' in sources
    assert as_module(steps(name)[0])[0] in {"manage.py", "-m"}


def test_the_settings_it_gives_are_ones_that_are_read():
    read = {
        name: (REPOSITORY / "renovation" / name).read_text(encoding="utf-8")
        for name in ("settings.py", "metrics.py")
    }

    for name in OURS:
        for setting in SERVICES[name]["environment"]:
            where = "metrics.py" if setting.startswith("PROMETHEUS_") else "settings.py"
            assert f'"{setting}"' in read[where]


def test_it_passes_on_every_setting_but_what_it_decides_itself():
    table = (REPOSITORY / "docs" / "reference" / "settings.md").read_text(encoding="utf-8")
    documented = set(re.findall(r"^\| `(\w+)`", table, re.MULTILINE))
    # The image says where the data is; the program's insides are shown to nobody.
    kept_back = {"LIFTED_BOARDS_DATA", "LIFTED_BOARDS_DEBUG"}

    for name in OURS:
        assert documented - kept_back <= set(SERVICES[name]["environment"])


def test_what_nobody_set_is_left_out(tmp_path):
    """Compose passes on an empty text for it."""
    environment = SERVICES["web"]["environment"]
    unset = {name: "" for name, value in environment.items() if str(value).endswith(":-}")}

    settings = Installation(tmp_path, unset).run(
        "from django.conf import settings\n"
        "answer = [settings.HTTPS, settings.METRICS, settings.PLAN_SECONDS, settings.LOG_FORMAT,"
        " len(settings.SECRET_KEY) > 49]"
    )

    assert len(unset) > 10
    assert settings == [False, False, 5.0, "text", True]


def test_no_process_writes_addresses_into_a_log():
    """Those of trade links and calendar feeds are secrets."""
    assert "--access-logfile" not in "".join(str(SERVICES[name]["command"]) for name in OURS)


def test_it_says_that_its_images_were_not_pulled():
    assert "written down from memory" in TEXT
