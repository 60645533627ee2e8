"""Read classified files into tables of text cells, one for each group of files with the same columns.

One parse reads all data rows of a group, and infers nothing. Line numbers are kept beside the lines, never
recovered from the parse.
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
from pipelines.intake.profile_text import wide_column
from pipelines.intake.profiles import Profile

_BATCH_CHARACTERS = 64_000_000


@dataclass
class TextTable:
    """The data rows of a group of files as text, with a column for each header cell in use and preamble value.

    ``cells`` has one row per data row; ``file_number`` is its index in ``files``; ``line_number`` counts from 1.
    In the long form of a wide export, ``piece_number`` is the row's index in ``piece_headers``, which map each
    quantity of a piece to its header cell.
    """

    profile: Profile
    files: list[ClassifiedLines]
    cells: pd.DataFrame
    file_number: npt.NDArray[np.int64]
    line_number: npt.NDArray[np.int64]
    piece_number: npt.NDArray[np.int64] | None = None
    piece_headers: tuple[dict[str, str], ...] = ()

    def original_text(self, row: int, column: str) -> str:
        """Return the original text of a row's line; of a transposed table, of the line of its column."""
        file, line = self.files[int(self.file_number[row])], int(self.line_number[row])
        return file.match.lines.text[file.label_lines.get(column, line) - 1]

    def place(self, row: int, column: str) -> str:
        """Return the line and the column of a row's cell in a transposed table; empty for other tables."""
        number = int(self.file_number[row])
        file = self.files[number]
        if not file.columns:
            return ""
        first = int(np.searchsorted(self.file_number, number))
        line = file.label_lines.get(column)
        return f"{f'line {line}, ' if line else ''}column {file.columns[row - first]}"

    def wide_header_cell(self, quantity: str, row: int) -> str | None:
        """Return the header cell that a row of a wide export has a quantity from, None for other quantities."""
        if self.piece_number is None:
            return None
        return self.piece_headers[int(self.piece_number[row])].get(quantity)


def read_tables(files: Iterable[ClassifiedLines]) -> Iterator[TextTable]:
    """Yield the data rows of files as tables, one for each profile, delimiter and header, in bounded batches."""

    def layout(file: ClassifiedLines) -> tuple[str, str, tuple[str, ...]]:
        return file.profile.name, file.match.delimiter, file.header

    for _, group in groupby(sorted(files, key=layout), key=layout):
        batch: list[ClassifiedLines] = []
        characters = 0
        for file in group:
            batch.append(file)
            characters += len(file.match.file.data)
            if characters > _BATCH_CHARACTERS:
                yield _parse_batch(batch)
                batch, characters = [], 0
        if batch:
            yield _parse_batch(batch)


def _parse_batch(files: list[ClassifiedLines]) -> TextTable:
    first = files[0]
    profile, header, delimiter = first.profile, first.header, first.match.delimiter
    width = len(header)
    counts = [len(file.row_texts) for file in files]
    file_number = np.repeat(np.arange(len(files)), counts)
    line_number = np.concatenate([np.array(file.line_numbers, dtype=np.int64) for file in files])
    read = {
        *profile.header_cells(),
        *(header[position] for position, _ in profile.wide_cells(header)),
    }
    used = [position for position, cell in enumerate(header) if cell in read]
    if line_number.size:
        rows = [text for file in files for text in file.row_texts]
        names = [str(position) for position in range(width)]
        # The parser rejects a row that spans more than two blocks; a character takes up to four bytes.
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
            raise AssertionError(f"{table.num_rows} rows parsed of {line_number.size} classified as data")
        cells = table.to_pandas()
        cells.columns = pd.Index([header[position] for position in used])
    else:
        cells = pd.DataFrame({header[position]: pd.Series(dtype="str") for position in used})
    for quantity in profile.file_values:
        of_rows = [values[quantity] for file in files for values in file.file_values]
        cells[preamble_column(quantity)] = pd.Series(of_rows, dtype="str")
    table = TextTable(profile, files, cells, file_number, line_number)
    return wide_to_long(table, header) if profile.text.wide is not None else table


def wide_to_long(table: TextTable, header: tuple[str, ...]) -> TextTable:
    """Return a table in long form: one row per line and piece of a wide export, ordered by file and piece.

    Each row repeats the line's other cells. A piece whose cells are all empty gives no row.
    """
    pieces: dict[tuple[tuple[str, str], ...], dict[str, str]] = {}
    for position, cell in table.profile.wide_cells(header):
        pieces.setdefault(cell.piece, {})[cell.quantity] = header[position]
    wide = {cell for columns in pieces.values() for cell in columns.values()}
    shared = table.cells[[name for name in table.cells.columns if name not in wide]]
    blocks, source_rows, piece_numbers, piece_headers = [], [], [], []
    for number, (groups, columns) in enumerate(pieces.items()):
        values = pd.DataFrame(
            {wide_column(quantity): table.cells[cell] for quantity, cell in columns.items()}
        )
        filled = np.flatnonzero(
            (values.apply(lambda column: column.str.strip()) != "").any(axis=1).to_numpy()
        )
        names = {wide_column(name): pd.Series([text] * len(filled), dtype="str") for name, text in groups}
        blocks.append(pd.concat([shared, values], axis=1).iloc[filled].reset_index(drop=True).assign(**names))
        source_rows.append(filled)
        piece_numbers.append(np.full(len(filled), number))
        piece_headers.append({name: next(iter(columns.values())) for name, _ in groups} | columns)
    rows = np.concatenate(source_rows)
    by_file = np.argsort(table.file_number[rows], kind="stable")
    cells = pd.concat(blocks, ignore_index=True).iloc[by_file].reset_index(drop=True)
    rows = rows[by_file]
    return TextTable(
        table.profile,
        table.files,
        cells,
        table.file_number[rows],
        table.line_number[rows],
        np.concatenate(piece_numbers)[by_file],
        tuple(piece_headers),
    )


def preamble_column(quantity: str) -> str:
    """Return the name of a preamble value's column in a table of text."""
    return f"(preamble) {quantity}"
