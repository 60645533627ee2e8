"""From laid-out files to one table of text cells per group of like files.

All data rows of a group go through one parse, to which nothing is left to guess. Line numbers are kept beside
the lines, never recovered from the parse.
"""

import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import numpy.typing as npt
import pandas as pd
import pyarrow as pa
import pyarrow.csv

from pipelines.intake.line_classification import ClassifiedLines
from pipelines.intake.profile_matching import clean
from pipelines.intake.profile_text import wide_column
from pipelines.intake.profiles import Profile

_BATCH_CHARACTERS = 64_000_000


@dataclass
class TextTable:
    """The data rows of a group of like files as text: one column per header cell in use or preamble value.

    ``cells`` has one row per data row; ``file_number`` indexes ``files``; ``line_number`` counts from 1.
    """

    profile: Profile
    files: list[ClassifiedLines]
    cells: pd.DataFrame
    file_number: npt.NDArray[np.int64]
    line_number: npt.NDArray[np.int64]

    def original_text(self, row: int) -> str:
        """Return the text of a row as it stood in its file."""
        file, line = self.files[int(self.file_number[row])], int(self.line_number[row])
        return file.recognised.lines.text[line - 1]


def text_tables(files: Iterable[ClassifiedLines]) -> Iterator[TextTable]:
    """Yield the files' data rows as tables of text, one for each group of like files, in bounded batches."""

    def group(file: ClassifiedLines) -> tuple[str, str, tuple[str, ...]]:
        return file.profile.name, file.recognised.delimiter, file.header

    for _, alike in groupby(sorted(files, key=group), key=group):
        batch: list[ClassifiedLines] = []
        characters = 0
        for file in alike:
            batch.append(file)
            characters += len(file.recognised.file.data)
            if characters > _BATCH_CHARACTERS:
                yield _parsed(batch)
                batch, characters = [], 0
        if batch:
            yield _parsed(batch)


def _parsed(files: list[ClassifiedLines]) -> TextTable:
    first = files[0]
    profile, header, delimiter = first.profile, first.header, first.recognised.delimiter
    width = len(header)
    counts = [len(file.row_texts) for file in files]
    file_number = np.repeat(np.arange(len(files)), counts)
    line_number = np.concatenate([np.array(file.line_numbers, dtype=np.int64) for file in files])
    read = {
        *map(clean, profile.header_cells()),
        *(header[position] for position, _ in profile.wide_cells(header)),
    }
    used = [position for position, cell in enumerate(header) if cell in read]
    if line_number.size:
        rows = [text for file in files for text in file.row_texts]
        names = [str(position) for position in range(width)]
        # The parser refuses a row that spans more than two blocks; a character takes up to four bytes.
        block_size = max(1 << 20, 4 * max(map(len, rows)))
        table = pyarrow.csv.read_csv(
            io.BytesIO(("\n".join(rows) + "\n").encode()),
            read_options=pyarrow.csv.ReadOptions(column_names=names, block_size=block_size),
            parse_options=pyarrow.csv.ParseOptions(
                delimiter=delimiter, newlines_in_values=True, ignore_empty_lines=False
            ),
            convert_options=pyarrow.csv.ConvertOptions(
                include_columns=[str(position) for position in used],
                column_types={name: pa.string() for name in names},
                strings_can_be_null=False,
            ),
        )
        if table.num_rows != line_number.size:
            raise AssertionError(f"{table.num_rows} rows parsed of {line_number.size} laid out")
        cells = table.to_pandas()
        cells.columns = pd.Index([header[position] for position in used])
    else:
        cells = pd.DataFrame({header[position]: pd.Series(dtype="str") for position in used})
    for quantity in profile.text.preamble.values:
        per_file = np.array([file.preamble_values[quantity] for file in files], dtype=object)
        cells[preamble_column(quantity)] = pd.Series(per_file[file_number], dtype="str")
    table = TextTable(profile, files, cells, file_number, line_number)
    return unfolded(table, header) if profile.text.wide is not None else table


def unfolded(table: TextTable, header: tuple[str, ...]) -> TextTable:
    """Return a table with a row for each value that a line has under the wide headers, one piece after another.

    The line's other cells are repeated in each of its rows; a piece whose cells are all empty gives no row.
    """
    pieces: dict[tuple[tuple[str, str], ...], dict[str, str]] = {}
    for position, cell in table.profile.wide_cells(header):
        pieces.setdefault(cell.piece, {})[cell.quantity] = header[position]
    wide = {cell for columns in pieces.values() for cell in columns.values()}
    shared = table.cells[[name for name in table.cells.columns if name not in wide]]
    blocks, rows = [], []
    for groups, columns in pieces.items():
        values = pd.DataFrame(
            {wide_column(quantity): table.cells[cell] for quantity, cell in columns.items()}
        )
        filled = np.flatnonzero(
            (values.apply(lambda column: column.str.strip()) != "").any(axis=1).to_numpy()
        )
        names = {wide_column(name): pd.Series([text] * len(filled), dtype="str") for name, text in groups}
        block = pd.concat([shared, values], axis=1).iloc[filled].reset_index(drop=True).assign(**names)
        blocks.append(block)
        rows.append(filled)
    order = np.concatenate(rows) if rows else np.array([], dtype=np.int64)
    # One file after the other, as everywhere; within a file one piece after the other.
    by_file = np.argsort(table.file_number[order], kind="stable")
    cells = pd.concat(blocks, ignore_index=True).iloc[by_file].reset_index(drop=True)
    order = order[by_file]
    return TextTable(table.profile, table.files, cells, table.file_number[order], table.line_number[order])


def preamble_column(quantity: str) -> str:
    """Return the name under which a preamble value stands among a table's cells."""
    return f"(preamble) {quantity}"
