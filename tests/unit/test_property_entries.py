"""A laboratory's own properties: what wins, and what each mistake in an entry is answered with."""

import pytest

from pipelines.errors import SettingsError
from pipelines.property_entries import load_registry
from schemas.properties import shipped

LINT = """
[lint]
unit = "mg"
description = "Mass of the dust that a sheet gives off."
source = "made up for a test"
readings = "further"
limits = [0, 90]

[lint_index]
unit = "mg.m2/g"
description = "Lint over grammage."
source = "made up for a test"
powers = { lint = 1, grammage = -1 }
"""


def load(tmp_path, text, name="own.toml"):
    (tmp_path / name).write_text(text, encoding="utf-8")
    return load_registry(tmp_path)


def test_a_laboratory_without_own_entries_has_the_shipped_ones(tmp_path):
    assert load_registry(tmp_path / "nothing") is shipped()


def test_own_entries_are_added_and_win_by_name(tmp_path):
    own = '[bulk]\nunit = "cm3/g"\ndescription = "Ours."\npowers = { thickness = 1, grammage = -1 }\n'
    registry = load(tmp_path, LINT + own)
    assert list(registry) == [*shipped(), "lint", "lint_index"]
    assert registry["bulk"].description == "Ours."
    assert registry["lint_index"].column_name() == "lint_index_mgm2_g"
    assert registry["lint_index"].is_read_by("further")


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("limits =", "limit =", "lint.limit: unknown key; did you mean 'limits'?"),
        ("{ lint = 1", "{ lynt = 1", "lint_index.powers.lynt: unknown property; did you mean 'lint'?"),
        ('"further"', '"furhter"', "lint.readings: unknown kind of record 'furhter'; did you mean 'further'?"),
        ("readings =", 'direction = "stripe"\nreadings =', "lint.direction: Input should be 'none', 'strip'"),
        ("readings =", "raw = { forse = 1 }\nreadings =", "lint.raw.forse: unknown quantity; did you mean 'force'?"),
        ('readings = "further"\n', "", "lint.readings: write readings = 'further', or give powers"),
        ("limits = [0, 90]", "", "lint.limits: is missing; give the lowest and the highest"),
        ("limits = [0, 90]", "limits = [90, 0]", "lint.limits: the first number must be less than the second"),
        ("limits =", 'mean = "logarithmic"\nlimits =', "lint.limits: a logarithmic mean needs values above 0"),
        ("limits =", 'mean = "circular"\nlimits =', "lint.mean: only angles in deg have a circular mean"),
        ("{ lint = 1,", "{ lint = 2,", "lint_index.powers.lint: the mean of a power is"),
        ("{ lint = 1,", "{ lint = 1, stretch = 1,", "lint_index.powers: both lint and stretch are means of readings"),
        ("{ lint = 1,", "{ lint = 1, moisture = 1,", "lint_index.powers.moisture: a property can be made of"),
        ("{ lint = 1,", "{ lint_index = 1,", "lint_index.powers.lint_index: the property is made of itself"),
        ("powers =", "limits = [0, 1]\npowers =", "lint_index.limits: remove this key; a property with powers"),
        ('unit = "mg"', 'unit = "m g"', "lint.unit: 'm g' is not a UCUM code"),
        ('unit = "mg"\n', "", "lint.unit: is missing"),
        ("[lint]", "[Lint]", "Lint: the name of a property has small letters"),
        ("[lint]", "lint_x = 1\n[lint]", "lint_x: an entry is a table; write [name] above its keys"),
    ],
)  # fmt: skip
def test_a_mistake_is_named_with_the_file_the_entry_and_the_key(tmp_path, old, new, message):
    assert old in LINT
    with pytest.raises(SettingsError) as raised:
        load(tmp_path, LINT.replace(old, new, 1))
    assert f"{tmp_path / 'own.toml'}: {message}" in str(raised.value)


def test_mistakes_of_all_files_are_named_at_once(tmp_path):
    (tmp_path / "a.toml").write_text("[x", encoding="utf-8")
    with pytest.raises(SettingsError) as raised:
        load(tmp_path, LINT.replace("limits", "limit"), "b.toml")
    assert "a.toml: is not valid TOML" in str(raised.value)
    assert "b.toml: lint.limit: unknown key" in str(raised.value)


def test_two_files_with_one_entry(tmp_path):
    (tmp_path / "a.toml").write_text(LINT, encoding="utf-8")
    with pytest.raises(SettingsError, match=r"b\.toml: lint: .*a\.toml has this entry too; keep one"):
        load(tmp_path, LINT, "b.toml")
