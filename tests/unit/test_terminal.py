"""What a terminal shows: text from files as text, numbers short."""

import pytest

from pipelines.terminal import plain, plain_lines


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (None, ""),
        ("", ""),
        (63.88947, "63.8895"),
        (1234567.0, "1.23457e+06"),
        (12345678, "12345678"),
        (True, "True"),
        ("two\nlines\tand a tab", "two·lines·and a tab"),
        ("\x1b[31mred", "·[31mred"),
        ("\u202eright to left", "·right to left"),
        ("[red]no markup[/red]", "[red]no markup[/red]"),
        ("µm 漢 é", "µm 漢 é"),
        ("\udcff", "·"),
    ],
)
def test_a_value_is_text_on_one_line(value, shown):
    text = plain(value)
    assert text.plain == shown
    assert text.spans == []


def test_a_message_keeps_its_lines():
    assert plain_lines("one\ntwo\x1b\n\nfour").plain == "one\ntwo·\n\nfour"
