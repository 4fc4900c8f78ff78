"""What a host needs is written whole: nothing is left to fill in, paths agree, and the settings start."""

import configparser
import re
import shlex
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command, get_commands
from django.urls import reverse

from cooperative.host import FILES, PROXIES, STARTED, UNITS
from cooperative.management.commands.verify import MANAGE, problem_of
from heaps.importing.shelf import MOST_BYTES

NAME = "heaps.example.org"


@pytest.fixture(params=sorted(PROXIES))
def written(request: pytest.FixtureRequest, tmp_path: Path) -> dict[str, str]:
    return write(tmp_path, proxy=request.param)


def write(place: Path, name: str = NAME, folder: str = "", proxy: str = "nginx") -> dict[str, str]:
    folder = folder or str(place / "heaps")
    call_command("host_files", name=name, folder=folder, proxy=proxy, out=place / "out", verbosity=0)
    return {path.name: path.read_text() for path in (place / "out").iterdir()}


def unit(text: str) -> configparser.ConfigParser:
    parser = configparser.ConfigParser(strict=False, interpolation=None, delimiters=["="])
    parser.optionxform = str  # type: ignore[assignment, method-assign]  # as the test means it
    parser.read_string(text)
    return parser


def environment(text: str) -> dict[str, str]:
    """As a shell and systemd read it."""
    return dict(line.split("=", 1) for line in shlex.split(text, comments=True))


def test_every_file_is_written_and_nothing_is_left_to_fill_in(written: dict[str, str]) -> None:
    configurations = {file for _, file in PROXIES.values()}
    assert set(written) - configurations == {"heaps.env", "heaps-manage", *UNITS}
    assert len(set(written) & configurations) == 1
    assert {path.name for path in FILES.iterdir()} == {
        "heaps.env",
        "heaps-manage",
        "hardening",
        *UNITS,
        *configurations,
    }
    assert not [file for file, text in written.items() if re.search(r"\[\[|\]\]", text)]


def test_paths_agree(written: dict[str, str], tmp_path: Path) -> None:
    home = f"{tmp_path}/heaps"
    for file in ("heaps.service", "heaps-names.service", "heaps-backup.service", "heaps-forecast.service"):
        service = unit(written[file])["Service"]
        assert service["WorkingDirectory"] == f"{home}/code"
        assert service["EnvironmentFile"] == f"{home}/heaps.env"
        assert service["ReadWritePaths"] == environment(written["heaps.env"])["HEAPS_VAR"] == f"{home}/var"
        assert (service["ProtectSystem"], service["NoNewPrivileges"]) == ("strict", "yes")
    assert f". {home}/heaps.env" in written["heaps-manage"] and f"cd {home}/code" in written["heaps-manage"]


def test_what_units_may_not_ask_of_the_system_is_refused_and_kills_nobody(written: dict[str, str]) -> None:
    """OpenBLAS, under NumPy, asks with `mbind` where its memory may lie, which is among `@resources`."""
    for file in ("heaps.service", "heaps-names.service", "heaps-backup.service", "heaps-forecast.service"):
        service = unit(written[file])["Service"]
        assert (service["SystemCallFilter"], service["SystemCallErrorNumber"]) == ("~@privileged @resources", "EPERM")


def test_sums_go_on_where_the_system_refuses_to_place_memory() -> None:
    refused = "mbind,set_mempolicy,sched_setaffinity,setpriority,setrlimit:error=EPERM"
    sums = "import numpy; print(int((numpy.ones((9, 9)) @ numpy.ones((9, 9))).sum()))"
    command = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", f"inject={refused}", sys.executable, "-c", sums]
    assert subprocess.run(command, capture_output=True, check=True, text=True).stdout == "729\n"


def test_only_the_proxy_may_knock(written: dict[str, str]) -> None:
    socket = unit(written["heaps.socket"])["Socket"]
    (user, proxy), *_ = [(user, written[file]) for user, file in PROXIES.values() if file in written]
    assert (socket["SocketUser"], socket["SocketMode"]) == (user, "0600")
    assert re.search(rf"unix[:/]+{re.escape(socket['ListenStream'][1:])}\b", proxy)
    assert NAME in proxy


def test_units_run_what_there_is(written: dict[str, str], tmp_path: Path) -> None:
    for file in ("heaps.service", "heaps-names.service", "heaps-backup.service", "heaps-forecast.service"):
        program, *arguments = shlex.split(unit(written[file])["Service"]["ExecStart"])
        beside = Path(program).relative_to(tmp_path / "heaps" / "code" / ".venv" / "bin")
        assert (Path(sys.executable).parent / beside).exists()
        assert arguments[0] == "cooperative.wsgi" or (arguments[0] == "manage.py" and arguments[1] in get_commands())
    assert all(unit(written[f"heaps-{one}.timer"])["Timer"]["OnCalendar"] for one in ("names", "backup", "forecast"))
    assert unit(written["heaps.service"])["Unit"]["Requires"] in UNITS


def test_no_proxy_writes_down_who_asked_for_what(tmp_path: Path) -> None:
    nginx = write(tmp_path / "n", proxy="nginx")["nginx.conf"]
    assert nginx.count("server {") == nginx.count("access_log off;") == nginx.count("error_log /dev/null;") == 2
    assert "exclude http.log.error" in write(tmp_path / "c", proxy="caddy")["Caddyfile"]


def test_a_file_may_be_larger_than_a_form_at_the_one_address_for_files(tmp_path: Path) -> None:
    address = re.escape(reverse("heaps:imports"))
    nginx = write(tmp_path / "n", proxy="nginx")["nginx.conf"]
    assert re.findall(r"client_max_body_size (\w+);", nginx) == ["1m", "30m"]
    assert re.search(rf"location = {address} {{\s+client_max_body_size 30m;", nginx)
    assert nginx.count("proxy_pass http://heaps;") == 2 and nginx.count("X-Forwarded-For") == 1
    caddy = write(tmp_path / "c", proxy="caddy")["Caddyfile"]
    assert re.search(rf"@files path {address}\n\s+@rest not path {address}\n", caddy)
    assert re.findall(r"request_body (\S+) {\s+max_size (\w+)", caddy) == [("@files", "30MB"), ("@rest", "1MB")]
    assert 20_000_000 == MOST_BYTES < 30_000_000


def test_the_settings_start_with_what_is_written(tmp_path: Path) -> None:
    settings_of_host = environment(write(tmp_path)["heaps.env"])
    assert settings_of_host["HEAPS_MODE"] == "host"
    command = [*MANAGE, "check", "--deploy", "--fail-level", "WARNING", "--database", "default"]
    assert problem_of(command, **settings_of_host, HEAPS_CHECKS="") == ""
    asked = "from django.conf import settings as s; print(s.ALLOWED_HOSTS, s.DATABASES['default']['NAME']); exit(3)"
    said = problem_of([*MANAGE, "shell", "--no-imports", "-c", asked], **settings_of_host, HEAPS_CHECKS="")
    assert said == f"['{NAME}'] {tmp_path}/heaps/var/heaps.sqlite3"


def test_the_key_is_secret_and_stays(tmp_path: Path) -> None:
    first = write(tmp_path)["heaps.env"]
    assert stat.S_IMODE((tmp_path / "out" / "heaps.env").stat().st_mode) == 0o600
    assert write(tmp_path)["heaps.env"] == first
    other = environment(write(tmp_path / "other")["heaps.env"])["SECRET_KEY"]
    assert len(other) >= 50 and other != environment(first)["SECRET_KEY"]


def test_a_bare_host_writes_its_files_before_it_has_a_key(tmp_path: Path) -> None:
    command = [*MANAGE, "host_files", "--name", NAME, "--out", str(tmp_path / "out")]
    said = problem_of(command, HEAPS_MODE="host", SECRET_KEY="", HEAPS_CHECKS="", HEAPS_VAR=str(tmp_path))
    assert said == ""
    assert (tmp_path / "out" / "heaps.service").exists()


@pytest.mark.parametrize(
    "name", ["https://heaps.example.org", "Heaps.example.org", "heaps", "a b.org", "x.org;", "x.org\n"]
)
def test_a_name_that_means_something_else_is_not_written(name: str, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match=r"like heaps\.example\.org"):
        write(tmp_path, name=name)


@pytest.mark.parametrize("folder", ["heaps", "/srv/our heaps", "/srv/$(id)", "/srv/../etc", "/srv/heaps;"])
def test_a_folder_that_means_something_else_is_not_written(folder: str, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="like /srv/heaps"):
        write(tmp_path, folder=folder)


def test_the_guide_names_what_there_is() -> None:
    guide = (settings.BASE_DIR / "cooperative" / "host" / "README.md").read_text()
    named = set(re.findall(r"heaps-manage ([a-z_]+)", guide)) | set(re.findall(r"manage\.py ([a-z_]+)", guide))
    assert named and named <= set(get_commands())
    files = {"heaps.env", "heaps-manage", *UNITS, *(file for _, file in PROXIES.values())}
    assert not [file for file in files if file not in guide]
    started = re.findall(r"systemctl (?:stop|start|enable --now) (heaps\.socket .*)", guide)
    assert len(started) > 3 and {tuple(one.split()) for one in started} == {STARTED}
