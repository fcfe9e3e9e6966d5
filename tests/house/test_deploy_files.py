"""The files that run the whole elsewhere: each names only what is there, and agrees with all."""

from __future__ import annotations

import configparser
import importlib.util
import re
import shlex
import tomllib
from pathlib import Path
from typing import Any

import pytest
import yaml

from deploy import embedded_postgres, embedded_redis, stack
from deploy.hardstand import make_hardstand
from deploy.part_settings import SECRETS
from deploy.process import Part
from shared.addresses import Role
from shared.settings import PREFIX, Settings

ROOT = Path(__file__).parents[2]
DEPLOY = ROOT / "deploy"
COMPOSE: dict[str, Any] = yaml.safe_load((DEPLOY / "compose.yaml").read_text(encoding="utf-8"))
SERVICES: dict[str, dict[str, Any]] = COMPOSE["services"]
OURS = sorted(name for name, service in SERVICES.items() if service["image"] == "hardstand")
UNITS = sorted(path.name for path in (DEPLOY / "units").iterdir())
FILES = [
    "compose.yaml",
    "hardstand.service",
    "Containerfile",
    "sizing.md",
    *(f"units/{name}" for name in UNITS),
]
ROLES: dict[str, set[Role]] = {
    Part.WEB.value: {Role.WEB},
    Part.DRAIN.value: {Role.WORKER},
    Part.SLOW.value: {Role.WORKER},
    Part.BEAT.value: set(),
}
ROLE_FILES = {Role.WEB: "web", Role.WORKER: "worker"}
VARIABLE = re.compile(r"\$\{(?P<name>\w+):(?P<way>[-?])(?P<rest>[^}]*)\}")
KNOWN = {PREFIX + name.upper() for name in Settings.model_fields}


def unit(name: str) -> configparser.RawConfigParser:
    # A file of settings is read for each line that names one.
    parser = configparser.RawConfigParser(strict=False, delimiters=("=",), comment_prefixes=("#",))
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read_string((DEPLOY / "units" / name).read_text(encoding="utf-8"))
    return parser


def instructions() -> list[tuple[str, str]]:
    text = (DEPLOY / "Containerfile").read_text(encoding="utf-8")
    joined = re.sub(r"\\\n", " ", re.sub(r"(?m)^#.*\n", "", text))
    lines = [line.strip() for line in joined.splitlines() if line.strip()]
    return [(line.split()[0], line.partition(" ")[2].strip()) for line in lines]


def runs_something_of_ours(command: list[str]) -> bool:
    """Say whether a command is `python -m <module of ours> [<part>]`, all of it there."""
    program, flag, module, *parts = command
    if Path(program).name != "python" or flag != "-m":
        return False
    if importlib.util.find_spec(module) is None:
        return False
    known = {part.value for part in Part}
    if module == "deploy.process":
        return len(parts) == 1 and parts[0] in known
    # Whatever starts after it is not started once it has failed, by systemd as by compose.
    return (module, parts) == ("deploy.prepare", ["--wait"])


@pytest.mark.parametrize("name", FILES)
def test_every_setting_named_is_one(name: str) -> None:
    named = set(re.findall(rf"\b{PREFIX}[A-Z_]+", (DEPLOY / name).read_text(encoding="utf-8")))
    assert named - KNOWN == set()


def test_every_process_runs_once_in_compose_and_as_a_unit() -> None:
    parts = [part.value for part in Part]
    assert [SERVICES[part]["command"][-1] for part in parts] == parts
    assert sorted(OURS) == sorted([*parts, "prepare", "command"])
    assert SERVICES["command"]["profiles"] == ["command"]
    assert sorted(f"hardstand-{part}.service" for part in [*parts, "prepare"]) == UNITS


@pytest.mark.parametrize("name", sorted(set(OURS) - {"command"}))
def test_service_runs_a_command_that_is_there(name: str) -> None:
    assert runs_something_of_ours(SERVICES[name]["command"])


@pytest.mark.parametrize("name", OURS)
def test_service_can_do_no_more_than_it_must(name: str) -> None:
    service = SERVICES[name]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert service.get("user", "10001") not in {"0", "root"}
    assert not service.get("privileged")


@pytest.mark.parametrize("name", OURS)
def test_compose_gives_settings_that_a_process_can_read(name: str) -> None:
    filled = {
        setting.removeprefix(PREFIX).lower(): VARIABLE.sub(fill, value)
        for setting, value in SERVICES[name]["environment"].items()
    }
    settings = Settings.model_validate(filled)
    assert "redis:6379" in str(settings.redis_url)
    for role in ROLES.get(name, Role):
        address = settings.database_of(role)
        assert address.startswith(f"postgresql+psycopg://{role}:")
        assert address.endswith("@postgres:5432/hardstand")


@pytest.mark.parametrize("part", Part)
def test_service_is_told_its_own_secrets_only(part: Part) -> None:
    said = {name.removeprefix(PREFIX).lower() for name in SERVICES[part.value]["environment"]}
    secret = said & set(SECRETS)
    assert secret <= {name for name in SECRETS if part in SECRETS[name]}
    for role in ROLES[part.value]:
        assert f"{role.name.lower()}_database_url" in secret
    assert ("secret_key" in secret) is bool(ROLES[part.value])


@pytest.mark.parametrize("part", Part)
def test_unit_reads_the_files_of_its_own_secrets_only(part: Part) -> None:
    read = files_of(f"hardstand-{part.value}.service")
    own = {ROLE_FILES[role] for role in ROLES[part.value]}
    assert read - {"mail"} == {"settings"} | own | ({"secret"} if own else set())
    assert ("mail" in read) is (part is Part.SLOW)


def test_files_of_the_units_are_told_of_where_they_are_made() -> None:
    told = (ROOT / "docs/running.md").read_text(encoding="utf-8")
    named = {file for name in UNITS for file in files_of(name)}
    assert named == {"settings", "secret", "web", "worker", "mail", "operator"}
    for file in named:
        assert f"| `{file}.env` |" in told
    assert files_of("hardstand-prepare.service") == named - {"mail"}


def test_web_and_workers_share_neither_account_nor_folder() -> None:
    said = {name: unit(name)["Service"] for name in UNITS}
    users = {name: service.get("User", "its own") for name, service in said.items()}
    web = users["hardstand-web.service"]
    assert [name for name, user in users.items() if user == web] == ["hardstand-web.service"]
    folders = {part: SERVICES[part.value].get("volumes", []) for part in Part}
    assert not set(folders.pop(Part.WEB)) & {one for all_ in folders.values() for one in all_}


def files_of(name: str) -> set[str]:
    """Return which files of settings a unit reads."""
    text = (DEPLOY / "units" / name).read_text(encoding="utf-8")
    return set(re.findall(r"(?m)^EnvironmentFile=/etc/hardstand/(\w+)\.env$", text))


def fill(variable: re.Match[str]) -> str:
    if variable["way"] == "-":
        return variable["rest"]
    return "http://depot.example" if variable["name"].endswith("ADDRESS") else "0123456789" * 4


def test_what_must_be_secret_has_no_value_in_compose() -> None:
    text = (DEPLOY / "compose.yaml").read_text(encoding="utf-8")
    secrets = re.findall(r"\$\{(\w*(?:PASSWORD|SECRET)\w*)([^}]*)\}", text)
    passwords = {f"{name}_PASSWORD" for name in ("POSTGRES", "OWNER", "WEB", "WORKER", "READER")}
    assert {name for name, _ in secrets} == passwords | {"HARDSTAND_SECRET_KEY"}
    told = text.partition("name: hardstand")[0]
    assert all(f"#   {name}=" in told for name, _ in secrets)
    assert all(rest.startswith(":?") for _, rest in secrets)


def test_services_wait_for_what_they_need_and_nothing_waits_for_itself() -> None:
    for name, service in SERVICES.items():
        needed = set(service.get("depends_on", {}))
        assert needed <= set(SERVICES) - {name}
        for other in needed:
            if service["depends_on"][other]["condition"] == "service_healthy":
                assert "test" in SERVICES[other]["healthcheck"], (name, other)


def test_volumes_used_are_declared() -> None:
    used = {
        volume.partition(":")[0] for one in SERVICES.values() for volume in one.get("volumes", [])
    }
    assert used == set(COMPOSE["volumes"])


def test_port_is_the_same_everywhere_and_open_to_this_machine_only() -> None:
    port = Settings.model_fields["web_port"].default
    said = dict(instructions())
    assert said["EXPOSE"] == str(port)
    assert f"{PREFIX}WEB_PORT={port}" in said["ENV"]
    assert f":{port}/ready" in said["HEALTHCHECK"]
    assert SERVICES["web"]["ports"] == [f"127.0.0.1:{port}:{port}"]
    assert [name for name in SERVICES if "ports" in SERVICES[name]] == ["web"]


def test_image_has_a_python_that_the_project_takes() -> None:
    bases = [rest for word, rest in instructions() if word == "FROM"]
    assert len(bases) == 2
    for base in bases:
        version = re.search(r"/python:(\d+)\.(\d+)-", base)
        assert version is not None
        assert (int(version[1]), int(version[2])) >= (3, 11)


def test_image_runs_as_an_ordinary_user() -> None:
    words = [word for word, _ in instructions()]
    (user,) = [rest for word, rest in instructions() if word == "USER"]
    assert user.isdigit()
    assert int(user) >= 1000
    assert words.index("USER") < words.index("CMD")
    assert "RUN" not in words[words.index("USER") :]


def test_image_installs_what_is_locked_and_copies_what_is_there() -> None:
    runs = " ".join(rest for word, rest in instructions() if word == "RUN")
    assert "--require-hashes" in runs
    assert "--no-deps" in runs
    copied = [
        name
        for word, rest in instructions()
        if word == "COPY" and not rest.startswith("--from")
        for name in rest.split()[:-1]
    ]
    assert [name for name in copied if not (ROOT / name).exists()] == []
    assert {"deploy", "workers", "tracker", "schemas", "shared"} <= set(copied)


def test_image_starts_and_is_asked_by_commands_that_are_there() -> None:
    said = dict(instructions())
    assert runs_something_of_ours(yaml.safe_load(said["CMD"]))
    _, _, command = said["HEALTHCHECK"].partition("CMD ")
    program, flag, code = yaml.safe_load(command)
    assert (program, flag) == ("python", "-c")
    compile(code, "healthcheck", "exec")


@pytest.mark.parametrize("name", UNITS)
def test_unit_runs_what_is_there_as_an_ordinary_user(name: str) -> None:
    said = unit(name)
    assert said.sections() == ["Unit", "Service", "Install"]
    service = said["Service"]
    assert runs_something_of_ours(shlex.split(service["ExecStart"]))
    assert service.get("DynamicUser") == "yes" or service["User"] not in {"root", "0", ""}
    assert service["NoNewPrivileges"] == "yes"
    documentation = said["Unit"]["Documentation"].removeprefix("file:/opt/hardstand/")
    assert (ROOT / documentation).exists()


@pytest.mark.parametrize("name", UNITS)
def test_unit_names_units_that_are_there(name: str) -> None:
    said = unit(name)["Unit"]
    named = " ".join(said.get(key, "") for key in ("Requires", "After")).split()
    ours = {one for one in named if one.startswith("hardstand-")}
    assert ours <= set(UNITS) - {name}
    assert name == "hardstand-prepare.service" or ours == {"hardstand-prepare.service"}


def test_units_are_stopped_no_sooner_than_a_process_takes_to_stop() -> None:
    patience = [int(unit(name)["Service"]["TimeoutStopSec"]) for name in UNITS]
    containers = [int(SERVICES[name]["stop_grace_period"].removesuffix("s")) for name in OURS]
    # `uvicorn` finishes requests for ten seconds, the stack gives fifteen.
    assert min(patience + containers) > 15


@pytest.mark.parametrize("name", sorted(set(UNITS) - {"hardstand-prepare.service"}))
def test_unit_that_is_stopped_lets_its_children_finish(name: str) -> None:
    assert unit(name)["Service"]["KillMode"] == "mixed"


def test_whole_house_as_a_unit_runs_as_an_ordinary_user_and_has_time_to_stop() -> None:
    service = unit("../hardstand.service")["Service"]
    program, command = shlex.split(service["ExecStart"])
    scripts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"][
        "scripts"
    ]
    assert Path(program).name in scripts
    assert command in {
        one.name or one.callback.__name__ for one in make_hardstand().registered_commands
    }
    assert service["User"] not in {"root", "0", ""}
    assert service["KillMode"] == "mixed"
    # The processes, then PostgreSQL, then Redis.
    servers_s = sum(wait_s for _, wait_s in (*embedded_postgres._STOP, *embedded_redis._STOP))
    assert int(service["TimeoutStopSec"]) > stack._PATIENCE_S + servers_s


def test_upgrade_stops_every_unit_so_that_the_next_start_prepares_again() -> None:
    page = (ROOT / "docs" / "running.md").read_text(encoding="utf-8")
    upgrade = page.partition("## Upgrade")[2]
    stopped = " ".join(re.findall(r"systemctl stop ([^\n`]+)", upgrade)).split()
    # What remains after exit would not run again: the new program would meet the old tables.
    assert unit("hardstand-prepare.service")["Service"]["RemainAfterExit"] == "yes"
    assert sorted(f"{name}.service" for name in stopped) == UNITS
