"""Settings and profiles are read once, when a run begins; what is changed while it goes counts from the next run on."""

import pytest

from pipelines.flows import steps
from pipelines.warehouse.querying import ask

RESULT = "SELECT laboratory, operator, note FROM setting, records.thickness"


@pytest.mark.parametrize("step", ["collect", "publish"])
def test_settings_and_profiles_saved_during_a_run_count_from_the_next_run_on(small, monkeypatch, step):
    profile = small.exports / "small-thickness.toml"
    settings, mapping = small.settings_file.read_text(), profile.read_text()
    small.settings_file.write_text(settings + '[laboratory]\nname = "Before"\n')
    small.readings("a.csv", "S1,1,100,AB")
    original = getattr(steps, step)

    def save_and_go_on(context):
        small.settings_file.write_text(settings + '[laboratory]\nname = "After"\n')
        profile.write_text(mapping.replace('operator = "who"', 'note = "who"'))
        return original(context)

    with monkeypatch.context() as patch:
        patch.setattr(steps, step, save_and_go_on)
        report = steps.run(small)
    assert ask(report.snapshot, RESULT).to_pylist() == [
        {"laboratory": "Before", "operator": "AB", "note": None}
    ]
    assert report.settings.laboratory.name == "Before"
    report = steps.run(small)
    assert report.night["files_read"] == 1
    assert ask(report.snapshot, RESULT).to_pylist() == [
        {"laboratory": "After", "operator": None, "note": "AB"}
    ]
    assert not steps.run(small).changed


def test_settings_saved_during_a_run_are_applied_by_the_next_though_nothing_else_is_new(small, monkeypatch):
    small.readings("a.csv", "S1,1,100,AB")
    settings, publish = small.settings_file.read_text(), steps.publish

    def save_and_publish(context):
        small.settings_file.write_text(settings + '[laboratory]\nname = "After"\n')
        return publish(context)

    with monkeypatch.context() as patch:
        patch.setattr(steps, "publish", save_and_publish)
        steps.run(small)
    report = steps.run(small)
    assert report.changed
    assert ask(report.snapshot, "SELECT laboratory FROM setting").column(0).to_pylist() == ["After"]
