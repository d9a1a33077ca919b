"""What is shipped: version once, every file of the package in the wheel, who it is by. Kind: invariant."""

import tomllib
from fnmatch import fnmatch
from importlib.metadata import version
from pathlib import Path

import lostneutral

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
PACKAGE = ROOT / "lostneutral"


def test_the_version_stands_in_one_place():
    assert "version" not in PROJECT["project"] and "version" in PROJECT["project"]["dynamic"]
    assert PROJECT["tool"]["setuptools"]["dynamic"]["version"] == {"attr": "lostneutral.__version__"}
    assert lostneutral.__version__.startswith("0.2.")
    if version("lostneutral") != lostneutral.__version__:  # an editable installation tells the version it was made with
        assert (ROOT / "lostneutral.egg-info").exists()


def test_every_file_of_the_package_is_shipped():
    # every folder below lostneutral/ is a package to the builder, with or without __init__.py
    found = PROJECT["tool"]["setuptools"]["packages"]["find"]
    assert found == {"include": ["lostneutral*"]}
    patterns = ["*.py", *PROJECT["tool"]["setuptools"]["package-data"]["*"]]
    kept = [p for p in PACKAGE.rglob("*") if p.is_file() and "__pycache__" not in p.parts]
    assert len(kept) > 250
    assert [str(p.relative_to(ROOT)) for p in kept if not any(fnmatch(p.name, pattern) for pattern in patterns)] == []


def test_who_it_is_by_and_what_it_runs_on():
    project = PROJECT["project"]
    assert project["authors"] == [{"name": "the lostneutral maintainers"}] and "urls" not in project
    lowest = project["requires-python"].removeprefix(">=")
    assert f"Programming Language :: Python :: {lowest}" in project["classifiers"] and "Typing :: Typed" in project["classifiers"]
