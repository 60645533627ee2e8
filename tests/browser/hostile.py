"""A laboratory in which every text from files tries to become more than text.

Its exports are imported by a run like any other's.
"""

import csv
from pathlib import Path

from pipelines.flows import steps
from pipelines.settings import Laboratory

TEXTS = (
    "<img src=x onerror=alert(1)>",
    '"><script>alert(2)</script>',
    "</script><iframe src=javascript:alert(3)>",
    "javascript:alert(4)",
    "{{1237*1013}}${1237*1013}",
    "' onmouseover='alert(5)",
    "@property",
    "__proto__",
    "\u202egnirts",
)

_HEAD = "\n[dialect]\nencoding = 'utf-8'\ndelimiter = ','\ndecimal = '.'\npreamble = 0\n\n[columns]\n"
_AT = "format = '%Y-%m-%d %H:%M'"
_PROFILES = {
    "forming": f"""
record = 'forming'
[recognise]
header = ['sheet', 'trial', 'point', 'furnish', 'wire']
{_HEAD}
sheet_id = 'sheet'
trial = 'trial'
trial_point = 'point'
layer_no = 'layer'
formed_at = {{ from = 'formed', {_AT} }}
tank = 'tank'
furnish = 'furnish'
wire_speed = {{ from = 'wire', unit = 'm/min' }}
jet_speed = {{ from = 'jet', unit = 'm/min' }}
fabric = 'fabric'
recipe = 'recipe'
operator = 'by'
note = 'note'
""",
    "tensile": f"""
record = 'tensile'
tester = '''{TEXTS[1]}'''
[recognise]
header = ['sheet', 'cut', 'piece', 'force']
{_HEAD}
sheet_id = 'sheet'
direction = {{ from = 'cut', values = {{ MD = ['L'], CD = ['T'] }} }}
specimen_no = 'piece'
width = {{ value = 15, unit = 'mm' }}
span = {{ value = 100, unit = 'mm' }}
max_force = {{ from = 'force', unit = 'N' }}
elongation = {{ from = 'elongation', unit = 'mm' }}
max_slope = {{ from = 'slope', unit = 'N/mm' }}
tested_at = {{ from = 'tested', {_AT} }}
operator = 'by'
note = 'note'
""",
    "thickness": f"""
record = 'thickness'
tester = '''{TEXTS[0]}'''
[recognise]
header = ['sheet', 'spot', 'um']
{_HEAD}
sheet_id = 'sheet'
position_no = 'spot'
sheets_in_pack = {{ value = 1 }}
thickness = {{ from = 'um', unit = 'um' }}
operator = 'by'
""",
    "basis-weight": f"""
record = 'basis_weight'
tester = '''{TEXTS[2]}'''
[recognise]
header = ['sheet', 'piece', 'gsm']
{_HEAD}
sheet_id = 'sheet'
specimen_no = 'piece'
state = {{ value = 'conditioned' }}
grammage = {{ from = 'gsm', unit = 'g/m2' }}
operator = 'by'
""",
    "climate": f"""
record = 'climate'
[recognise]
header = ['room', 'read', 'air', 'humidity']
{_HEAD}
room = 'room'
read_at = {{ from = 'read', {_AT} }}
temperature = {{ from = 'air', unit = 'degC' }}
relative_humidity = {{ from = 'humidity', unit = '%' }}
""",
    "conditioning": f"""
record = 'conditioning'
[recognise]
header = ['sheet', 'room', 'in', 'out']
{_HEAD}
sheet_id = 'sheet'
room = 'room'
in_at = {{ from = 'in', {_AT} }}
out_at = {{ from = 'out', {_AT} }}
note = 'note'
""",
}

_SETTINGS = f"""\
[laboratory]
name = '''{TEXTS[1]}'''
time_zone = "UTC"

[atmosphere]
admitted = ["standard", "off_standard", "unverified"]

[intake]
quiet_seconds = 0
"""


def write(root: Path) -> Laboratory:
    """Write the laboratory and run it once; return it with its published snapshot."""
    laboratory = Laboratory(root)
    for folder in (laboratory.inbox, laboratory.exports):
        folder.mkdir(parents=True)
    laboratory.settings_file.write_text(_SETTINGS, encoding="utf-8")
    for name, profile in _PROFILES.items():
        (laboratory.exports / f"{name}.toml").write_text(profile, encoding="utf-8")
    for name, lines in _exports().items():
        with (laboratory.inbox / name).open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows(lines)
    steps.run(laboratory)
    return laboratory


def _text(number: int) -> str:
    return TEXTS[number % len(TEXTS)]


def _exports() -> dict[str, list[list[object]]]:
    """Return the rows of each file in the inbox; the file names are hostile too, as far as file names can be."""
    log: list[list[object]] = [
        [
            "sheet",
            "trial",
            "point",
            "layer",
            "formed",
            "tank",
            "furnish",
            "wire",
            "jet",
            "fabric",
            "recipe",
            "by",
            "note",
        ]
    ]
    pieces: list[list[object]] = [
        ["sheet", "cut", "piece", "force", "elongation", "slope", "tested", "by", "note"]
    ]
    readings: list[list[object]] = [["sheet", "spot", "um", "by"]]
    weighings: list[list[object]] = [["sheet", "piece", "gsm", "by"]]
    stays: list[list[object]] = [["sheet", "room", "in", "out", "note"]]
    for number in range(12):
        sheet, text = f"{number} {_text(number)}", _text(number)
        trial, point = _text(number // 6), f"{_text(number // 2)} {number // 2 % 3}"
        formed = f"2026-10-01 {6 + number:02d}:00"
        ratio = 0.9 + 0.1 * (number % 6)
        log.append([sheet, trial, point, 1, formed, text, text, 1000, 1000 * ratio, text, text, text, text])
        log.append(
            [
                sheet,
                trial,
                point,
                2,
                formed,
                text,
                _text(number + 1),
                1000,
                1000 * ratio,
                text,
                "",
                text,
                text,
            ]
        )
        for spot in (1, 2):
            readings.append([sheet, spot, 90 + number + spot, text])
            weighings.append([sheet, spot, 60 + number / 10 + spot / 10, text])
            for cut, force in (("L", 70 + number), ("T", 30 + number)):
                tested = f"2026-10-03 {8 + number:02d}:{spot:02d}"
                pieces.append([sheet, cut, spot, force + spot, 2.5, 80 + number, tested, text, text])
        stays.append([sheet, text, "2026-10-02 08:00", "2026-10-04 08:00", text])
    # what is held, and what no log names
    pieces.append(
        ["0 " + TEXTS[0], TEXTS[1], TEXTS[2], TEXTS[0], 2.5, 80, "2026-10-03 08:30", TEXTS[3], TEXTS[4]]
    )
    readings.append(["nowhere " + TEXTS[0], 1, 95, TEXTS[1]])
    rooms: list[list[object]] = [["room", "read", "air", "humidity"]]
    rooms += [
        [text, f"2026-10-{day:02d} {hour:02d}:00", 23 + hour / 40, 50]
        for text in TEXTS
        for day in (2, 3)
        for hour in range(24)
    ]
    return {
        "<img src=x onerror=alert(6)>.csv": log,
        "javascript:alert(7).csv": pieces,
        "' onload='alert(8).csv": readings,
        "{{1237*1013}}.csv": weighings,
        "&lt;b&gt;.csv": rooms,
        "\u202egpj.csv": stays,
        "<script>alert(9)<.csv": [["of no", "profile", TEXTS[0]], [1, 2, TEXTS[1]]],
    }
