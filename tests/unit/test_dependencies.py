"""The dependencies in pyproject.toml are what the code imports: none is missing, none is left over."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

ROOT = Path(__file__).parents[2]
DECLARED = tomllib.loads((ROOT / "pyproject.toml").read_text())
DISTRIBUTIONS = packages_distributions()

OF_THE_NOTEBOOK = ("pipelines/notebooks/answers.py", "pipelines/notebooks/explore.py")
OF_THE_BUILD = ("pipelines/site/build_hook.py", "pipelines/site/theme.py", "pipelines/site/**/charts.py")
COMES_WITH = {"pydantic-core": "pydantic", "markupsafe": "jinja2"}


def named(requirements):
    return {re.match(r"[\w-]+", requirement)[0] for requirement in requirements}


def files(*patterns):
    return {path for pattern in patterns for path in ROOT.glob(pattern)}


def imported_by(paths):
    """Return the names of the distributions that files import, anywhere in them."""
    modules = set()
    for node in (node for path in paths for node in ast.walk(ast.parse(path.read_text()))):
        match node:
            case ast.Import():
                modules |= {alias.name.partition(".")[0] for alias in node.names}
            case ast.ImportFrom():
                modules.add(node.module.partition(".")[0])
    others = modules - set(sys.stdlib_module_names) - {"pipelines", "schemas", "sql"}
    distributions = {DISTRIBUTIONS.get(name, [name])[0].lower().replace("_", "-") for name in others}
    return {COMES_WITH.get(name, name) for name in distributions}


def test_an_installation_has_what_it_imports_and_no_more():
    special = files(*OF_THE_NOTEBOOK, *OF_THE_BUILD)
    imported = imported_by(files("pipelines/**/*.py", "schemas/**/*.py") - special)
    # Python itself reads tzdata, where the system has no time zones
    assert imported | {"tzdata"} == named(DECLARED["project"]["dependencies"])


def test_the_extra_has_what_the_notebook_imports():
    extra = named(DECLARED["project"]["optional-dependencies"]["notebook"])
    assert imported_by(files(*OF_THE_NOTEBOOK)) - named(DECLARED["project"]["dependencies"]) == extra


def test_a_build_has_what_the_charts_import():
    assert imported_by(files(*OF_THE_BUILD)) <= named(DECLARED["build-system"]["requires"])


def test_a_checkout_has_every_extra():
    extras = DECLARED["project"]["optional-dependencies"].values()
    assert set().union(*map(named, extras)) <= named(DECLARED["dependency-groups"]["dev"])
