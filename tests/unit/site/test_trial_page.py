"""The page of a trial: its HTML and its data, for the demo laboratory and for hostile texts."""

import json
import re
import statistics

import pytest

from pipelines.site import links
from pipelines.site.labels import places
from pipelines.site.reading import Published, read
from pipelines.site.sheets import page as sheets_page
from pipelines.site.trial.page import PIECES_OF_SHEETS, page

LADDER = "jet-to-wire ladder"
HOSTILE = '</script><img src=x onerror="alert(1)">{{ 7 * 7 }}\u202e javascript:alert(1)'


@pytest.fixture(scope="module")
def published(demo_night):
    return read(demo_night.snapshot)


def made(published, trial):
    (row,) = [row for row in published.all("trial") if row["trial"] == trial]
    return page(published, row)


def data_of(html):
    (content,) = re.findall(r'<script type="application/json" id="page-data">(.*?)</script>', html, re.S)
    return json.loads(content)


def rows_of(content, name):
    packed = content["data"][name]
    return [packed["same"] | dict(zip(packed["columns"], cells, strict=True)) for cells in packed["rows"]]


def test_the_values_of_the_page_equal_the_snapshot(published):
    content = data_of(made(published, LADDER))
    sheets = {row["sheet_id"]: row for row in rows_of(content, "sheets")}
    values = published.of("trial_value", trial=LADDER)
    assert len(values) > 700
    for row in values:
        key = f"{row['property']}|{row['direction'] or ''}|"
        assert sheets[row["sheet_id"]][key] == pytest.approx(row["value"], rel=1e-5)
        if row["interval_low"] is not None:
            half = (row["interval_high"] - row["interval_low"]) / 2
            assert sheets[row["sheet_id"]][f"{key}±"] == pytest.approx(half, rel=5e-3)
            assert row["value"] == pytest.approx((row["interval_high"] + row["interval_low"]) / 2)
    points = {row["trial_point"]: row for row in rows_of(content, "points")}
    for row in published.of("trial_mean", trial=LADDER):
        key = f"{row['property']}|{row['direction'] or ''}|"
        assert points[row["trial_point"]][key] == pytest.approx(row["value"], rel=1e-5)
        assert points[row["trial_point"]][f"{key}n_sheets"] == row["n_sheets"]


def test_every_property_has_its_words_unit_and_directions(published):
    properties = data_of(made(published, LADDER))["properties"]
    assert set(properties) == {row["property"] for row in published.of("trial_value", trial=LADDER)}
    assert next(iter(properties)) == "tensile_index", "shown first"
    uncertainties = properties["tensile_stiffness_index"].pop("u")
    assert set(uncertainties["sheet"]) == {"MD", "CD", "GM", "MD/CD"}
    assert properties["tensile_stiffness_index"] == {
        "name": "Tensile stiffness index", "in_text": "tensile stiffness index", "unit": "kN·m/g",
        "directions": ["MD", "CD", "GM", "MD/CD"], "field": "tensile_stiffness_index_knm_g",
    }  # fmt: skip
    assert properties["thickness"]["directions"] == []
    assert properties["thickness"]["field"] is None


def test_conditions_that_differ_can_be_an_x_axis(published):
    axes = data_of(made(published, "refining series"))["axes"]
    assert axes["refining_energy_kwh_t"] == {
        "title": "Refining energy, kW·h/t", "in_text": "refining energy", "unit": "kW·h/t", "names": False,
    }  # fmt: skip
    assert axes["furnishes"]["names"]
    assert axes["apparent_density|"]["unit"] == "kg/m³"
    assert axes["tensile_index|CD"] == {
        "title": "Tensile index CD, N·m/g", "in_text": "tensile index CD", "unit": "N·m/g", "names": False,
    }  # fmt: skip
    assert axes["tensile_index|MD/CD"]["unit"] == ""
    assert "n_press_passes" not in axes


def test_response_needs_several_ratios_and_the_layer_chart_several_layers(published):
    assert set(data_of(made(published, LADDER))["figures"]) == {"response", "against", "points", "strips"}
    figures = data_of(made(published, "layered sheets"))["figures"]
    assert set(figures) == {"against", "points", "strips", "layers"}


def test_conditions_common_to_all_points_are_shown_once(published):
    html = made(published, LADDER)
    table = html[html.index("Forming, pressing and drying of each trial point") :]
    assert "<dt>Consistency, %</dt><dd>0.3</dd>" in html
    assert "Consistency" not in table[: table.index("</table>")]
    assert "Jet-to-wire ratio" in table[: table.index("</table>")]


def test_pieces_left_out_are_in_the_data_with_their_reason(published):
    rows = rows_of(data_of(made(published, LADDER)), "pieces")
    left_out = [row for row in rows if not row["in_means"]]
    assert left_out
    assert all(row["left_out_because"] for row in left_out)


def test_texts_from_files_stay_text(published):
    def hostile(row):
        texts = ("trial", "trial_point", "sheet_id", "furnishes", "furnish", "furnish_composition")
        return {key: HOSTILE if key in texts else value for key, value in row.items()}

    rows = {
        name: [hostile(row) for row in published.of(name, trial=LADDER)]
        for name in (
            "trial_value", "trial_mean", "trial_sheet", "trial_piece", "trial_layer", "trial_response", "trial_curve",
            "trial_condition",
        )
    }  # fmt: skip
    rows["setting"] = [{**published.all("setting")[0], "laboratory": HOSTILE}]
    rows["typical_uncertainty"] = published.all("typical_uncertainty")
    (trial,) = [row for row in published.all("trial") if row["trial"] == LADDER]
    html = page(Published(rows), hostile(trial))
    assert "<img" not in html
    assert html.count("</script>") == html.count("<script")
    assert "{{ 7 * 7 }}" in html
    assert not re.search(r"href=['\"]?javascript", html)
    assert "\u202e" not in html, "a sign that turns the text around it is shown as a dot"
    assert data_of(html)["data"]["sheets"]["same"]["trial_point"] == HOSTILE.replace("\u202e", "·")
    assert re.fullmatch(r"trial/[a-z0-9-]+\.html", links.trial_page(HOSTILE))


def test_a_large_trial_contains_the_pieces_of_its_last_sheets(published):
    sheet = published.of("trial_sheet", trial=LADDER)[0]
    piece = published.of("trial_piece", trial=LADDER)[0]
    many = PIECES_OF_SHEETS + 20
    names = [f"S{number:04}" for number in range(many)]
    rows = {
        name: []
        for name in (
            "trial_value", "trial_mean", "trial_layer", "trial_response", "trial_curve", "typical_uncertainty",
        )
    }  # fmt: skip
    rows["setting"] = published.all("setting")
    rows["trial_condition"] = published.of("trial_condition", trial=LADDER)
    rows["trial_sheet"] = [{**sheet, "sheet_id": name} for name in names]
    rows["trial_piece"] = [{**piece, "sheet_id": name} for name in names]
    (trial,) = [row for row in published.all("trial") if row["trial"] == LADDER]
    html = page(Published(rows), trial)
    content = data_of(html)
    assert {row["sheet_id"] for row in rows_of(content, "pieces")} == set(names[-PIECES_OF_SHEETS:])
    assert content["n_sheets_with_pieces"] == PIECES_OF_SHEETS
    assert "strips" in content["figures"], "pieces without a mean are drawn all the same"
    assert f"<summary>Show {many} sheets</summary>" in html


def test_a_trial_without_tensile_tests_shows_the_properties_it_has(published):
    rows = {name: published.of(name, trial=LADDER) for name in ("trial_sheet", "trial_condition")}
    empty = ("trial_piece", "trial_layer", "trial_response", "trial_curve", "typical_uncertainty")
    rows |= {name: [] for name in empty}
    values = {
        name: [row for row in published.of(name, trial=LADDER) if row["property"] == "thickness"]
        for name in ("trial_value", "trial_mean")
    }
    rows |= values | {"setting": published.all("setting")}
    (trial,) = [row for row in published.all("trial") if row["trial"] == LADDER]
    content = data_of(page(Published(rows), trial))
    assert list(content["properties"]) == ["thickness"]
    assert set(content["figures"]) == {"points", "against"}
    html = page(Published(rows | {"trial_value": [], "trial_mean": []}), trial)
    assert "No valid test of this trial yet: " in html
    assert "page-data" not in html


def test_a_sheet_has_the_same_decimals_on_every_page(published):
    """Two significant digits of the standard uncertainty, as JCGM 100:2008 (GUM), 7.2.6, advises at most."""
    html = made(published, LADDER)
    row = html[html.index('data-key="JW-001"') :]
    ratio, *shown = re.findall(r'<td class="number">([\d.]+)</td>', row)[:4]
    script = sheets_page.data(published)
    table = json.loads(script[script.index("{") : script.rindex(";")])
    columns = {column["name"]: column for column in table["columns"]}
    place = columns["sheet_id"]["texts"].index("JW-001")
    names = ("grammage_g_m2", "thickness_um", "apparent_density_kg_m3")
    assert shown == [f"{columns[name]['values'][place]:.{columns[name]['decimals']}f}" for name in names]
    assert len(ratio.partition(".")[2]) == columns["jet_to_wire_ratio"]["decimals"] == 3
    typical = data_of(html)["properties"]["thickness"]["u"]["sheet"][""]
    of_sheets = [
        one for one in published.all("sheet_property") if one["is_main"] and one["property"] == "thickness"
    ]
    uncertainties = [
        one["standard_uncertainty"] for one in of_sheets if one["standard_uncertainty"] is not None
    ]
    assert typical == statistics.median_low(uncertainties)
    assert places(typical) == columns["thickness_um"]["decimals"] == 2
