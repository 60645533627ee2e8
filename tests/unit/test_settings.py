"""lab.toml: defaults, and what each mistake in it is answered with."""

from importlib.resources import files

import pytest

from pipelines.errors import ExitCode, SettingsError
from pipelines.settings import Laboratory, Settings


@pytest.fixture
def laboratory(tmp_path):
    return Laboratory(tmp_path)


def write(laboratory: Laboratory, text: str) -> Settings:
    laboratory.settings_file.write_text(text, encoding="utf-8")
    return laboratory.settings()


def test_an_empty_file_means_the_defaults(laboratory):
    settings = write(laboratory, "")
    assert settings == Settings()
    assert settings.properties.grammage_basis == "conditioned"
    assert settings.intake.quiet_seconds == 2


def test_given_settings_are_used_and_others_have_defaults(laboratory):
    settings = write(
        laboratory,
        """
        [laboratory]
        time_zone = "Europe/Helsinki"
        [former]
        drum_radius_mm = 200
        [properties]
        left_out_remarks = ["clamp_break"]
        """,
    )
    assert settings.laboratory.time_zone == "Europe/Helsinki"
    assert settings.laboratory.name == "Sheet laboratory"
    assert settings.former.drum_radius_mm == 200
    assert settings.properties.left_out_remarks == ("clamp_break",)


def test_the_file_that_a_new_laboratory_gets_is_right(laboratory):
    template = (files("pipelines") / "templates" / "lab.toml").read_text(encoding="utf-8")
    write(laboratory, template)


def test_a_byte_order_mark_is_accepted(laboratory):
    laboratory.settings_file.write_text('[laboratory]\nname = "Ö"\n', encoding="utf-8-sig")
    assert laboratory.settings().laboratory.name == "Ö"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[labratory]", "labratory: unknown key; did you mean 'laboratory'? Known: "),
        ("[former]\ndrum_radius = 150", "former.drum_radius: unknown key; did you mean 'drum_radius_mm'?"),
        ("[intake]\nwombat = 1", "intake.wombat: unknown key. Known: largest_file_mb, quiet_seconds."),
        ('[laboratory]\ntime_zone = "Helsinki"', "laboratory.time_zone: 'Helsinki' is not a known time zone; write"),
        ('[laboratory]\ntime_zone = "../etc/passwd"', "is not a known time zone"),
        ('[laboratory]\ntime_zone = ""', "is not a known time zone"),
        ('[laboratory]\nname = ""', "laboratory.name: String should have at least 1 character"),
        ("[former]\ndrum_radius_mm = 0", "former.drum_radius_mm: Input should be greater than 0 (given: 0)"),
        ('[former]\ndrum_radius_mm = "150"', "former.drum_radius_mm: Input should be a valid number (given: '150')"),
        ("[former]\ndrum_radius_mm = nan", "former.drum_radius_mm: Input should be a finite number"),
        ("[former]\ndrum_radius_mm = inf", "former.drum_radius_mm: Input should be a finite number"),
        ("[former]\ncontraction_coefficient = 1.1", "former.contraction_coefficient: Input should be less than or"),
        ('[properties]\ngrammage_basis = "od"', "properties.grammage_basis: Input should be 'conditioned', 'oven"),
        ('[properties]\nleft_out_remarks = ["bad"]', "properties.left_out_remarks.0: Input should be 'normal', "),
        ("[intake]\nquiet_seconds = -1", "intake.quiet_seconds: Input should be greater than or equal to 0"),
        ("[intake]\nquiet_seconds = true", "intake.quiet_seconds: Input should be a valid number (given: True)"),
        ("[publishing]\nsnapshots_kept = 0", "publishing.snapshots_kept: Input should be greater than or equal to 1"),
        ("[publishing]\nsnapshots_kept = 1.5", "publishing.snapshots_kept: Input should be a valid integer"),
        ("[testers.x]\nforce = 1.0", "testers.x.force: unknown key; did you mean 'force_pct'? Known: area"),
        ("[testers.x]\nmass_g = -0.1", "testers.x.mass_g: Input should be greater than or equal to 0"),
        ("laboratory = 5", "laboratory: Input should be a valid dictionary or instance of LaboratorySection"),
        ("[former", "is not valid TOML: Expected ']' at the end of a table declaration (at "),
        ("[former]\n[former]", "is not valid TOML: Cannot declare ('former',) twice"),
    ],
)  # fmt: skip
def test_a_mistake_is_named_with_the_file_and_the_key(laboratory, text, message):
    with pytest.raises(SettingsError) as error:
        write(laboratory, text)
    assert str(error.value).startswith(f"{laboratory.settings_file}: ")
    assert message in str(error.value)
    assert error.value.exit_code is ExitCode.WRONG_USAGE


def test_all_mistakes_are_named_at_once(laboratory):
    with pytest.raises(SettingsError) as error:
        write(laboratory, "[former]\ndrum_radius_mm = 0\nforming_width_mm = -1\n[wombat]\n")
    assert len(str(error.value).split("\n")) == 3


def test_a_folder_that_is_no_laboratory(laboratory):
    with pytest.raises(SettingsError) as error:
        laboratory.settings()
    assert f"{laboratory.root} is not a laboratory folder: lab.toml is missing." in str(error.value)
    assert f"sheetlore new-lab {laboratory.root}" in error.value.remedy


def test_a_file_that_is_no_utf8(laboratory):
    laboratory.settings_file.write_bytes('name = "Größe"'.encode("cp1252"))
    with pytest.raises(SettingsError, match="is not UTF-8 text"):
        laboratory.settings()


def test_stated_accuracies_are_rows_with_missing_values(laboratory):
    settings = write(laboratory, "[testers.tensile-si]\nforce_pct = 1\n[testers.oven]\nmass_g = 0.001\n")
    tensile, oven = settings.accuracies()
    assert (tensile["tester"], tensile["force_pct"], tensile["width_mm"]) == ("tensile-si", 1.0, None)
    assert (oven["tester"], oven["mass_g"], oven["force_pct"]) == ("oven", 0.001, None)
    assert settings.fingerprint() != Settings().fingerprint()


def test_the_fingerprint_changes_with_any_setting():
    changed = [
        Settings(**{section: {name: value}})
        for section, name, value in (
            ("laboratory", "name", "Other"),
            ("former", "drum_radius_mm", 151.0),
            ("properties", "thickness", "stack"),
            ("intake", "quiet_seconds", 3.0),
            ("publishing", "snapshots_kept", 15),
        )
    ]
    assert len({settings.fingerprint() for settings in [Settings(), *changed]}) == 6
    assert Settings().fingerprint() == Settings().fingerprint()


def test_all_paths_are_in_the_laboratorys_folder(laboratory):
    places = [
        laboratory.settings_file, laboratory.exports, laboratory.inbox, laboratory.archive, laboratory.warehouse,
        laboratory.published, laboratory.lock_file,
    ]  # fmt: skip
    assert len(set(places)) == len(places)
    assert all(place.parent == laboratory.root for place in places)
