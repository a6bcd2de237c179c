"""A file of lives is read whole or not at all: every fault with its row, column and advice."""

import numpy as np
import pytest

from forecasting.survival.lives_file import FaultyFile, read_lives

HEADER = "boat,entry_age,good_at,condemned_at,failed_at,weight,rod"


def read(tmp_path, text, encoding="utf-8"):
    path = tmp_path / "lives.csv"
    path.write_bytes(text.encode(encoding))
    return read_lives(path)


def faults(tmp_path, *rows, header=HEADER):
    with pytest.raises(FaultyFile) as caught:
        read(tmp_path, "\n".join([header, *rows]) + "\n")
    return caught.value.faults


def test_blank_cells_mean_what_the_command_says(tmp_path):
    lives = read(
        tmp_path,
        f"{HEADER}\nPetrel,,6,,,,0\nPetrel,2,,4,,,1\nFulmar,1.5,,,8,2.5,1\nFulmar,3,3,,,,0\n",
    )
    assert lives.entry.tolist() == [0.0, 2.0, 1.5, 3.0]
    assert lives.good.tolist() == [6.0, 2.0, 1.5, 3.0]
    assert lives.condemned.tolist() == [np.inf, 4.0, np.inf, np.inf]
    assert lives.exact.tolist() == [False, False, True, False]
    assert lives.weight.tolist() == [1.0, 1.0, 2.5, 1.0]
    assert lives.never_seen.tolist() == [False, False, False, True]
    assert lives.cluster.tolist() == [0, 0, 1, 1]
    assert lives.names == ("rod",)


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        ("A,5,4,,,,0", "good_at", "below entry_age"),
        ("A,,5,5,,,0", "condemned_at", "not above good_at"),
        ("A,5,,5,,,0", "condemned_at", "not above good_at"),
        ("A,,5,4,,,0", "condemned_at", "not above good_at"),
        ("A,,5,,4,,0", "failed_at", "below good_at"),
        ("A,5,,,4,,0", "failed_at", "below good_at"),
        ("A,,,,0,,0", "failed_at", "not above 0"),
        ("A,,5,6,6,,0", "failed_at", "both given"),
        ("A,,,,,,0", "good_at", "all blank"),
        ("A,3,,,,,0", "good_at", "all blank"),
        ("A,-1,5,,,,0", "entry_age", "below 0"),
        ("A,,5,,,0,0", "weight", "not above 0"),
        ("A,,5,,,-2,0", "weight", "not above 0"),
        ("A,,five,,,,0", "good_at", "'five' is not a number"),
        ("A,,5,,,nan,0", "weight", "'nan' is not a number"),
        ("A,,5,inf,,,0", "condemned_at", "'inf' is not a number"),
        ("A,,5,1e999,,,0", "condemned_at", "too large"),
        ("A,,1_000,,,,0", "good_at", "'1_000' is not a number"),
        ("A,,0x10,,,,0", "good_at", "'0x10' is not a number"),
        ('A,,"5,5",,,,0', "good_at", "use a decimal point"),
        ("A,,5,,,,", "rod", "blank"),
        ("A,,5,,,,yes", "rod", "'yes' is not a number"),
        (",,5,,,,0", "boat", "blank"),
    ],
)
def test_a_wrong_cell_is_named_with_row_and_column(tmp_path, row, column, says):
    (fault,) = faults(tmp_path, "B,,4,,,,1", row)
    assert (fault.row, fault.column) == (3, column)
    assert says in fault.sentence
    assert f"row 3, column {column}" in str(fault)


def test_every_fault_is_told_at_once(tmp_path):
    found = faults(tmp_path, "A,,x,,,,0", ",,4,,,y,0", "C,,4,,,,")
    assert [(fault.row, fault.column) for fault in found] == [
        (2, "good_at"),
        (3, "weight"),
        (3, "boat"),
        (4, "rod"),
    ]


def test_a_file_with_thousands_of_faults_shows_the_first_fifty(tmp_path):
    with pytest.raises(FaultyFile, match="and 250 more faults"):
        read(tmp_path, HEADER + "\n" + "A,,x,,,,0\n" * 300)


def test_blank_lines_count_as_rows_but_hold_no_life(tmp_path):
    (fault,) = faults(tmp_path, "", "A,,4,,,,1", ",,,,,,", "", "B,,x,,,,1")
    assert fault.row == 6


def test_a_cell_with_a_line_break_is_one_row_as_a_spreadsheet_shows_it(tmp_path):
    (fault,) = faults(tmp_path, '"Sea\nHare",,4,,,,1', "B,,x,,,,1")
    assert fault.row == 3


def test_spreadsheet_habits_are_no_fault(tmp_path):
    plain = read(tmp_path, f"{HEADER}\nA,,4,5,,,1\nB,,6,,,,0\n")
    for text in (
        f"\ufeff{HEADER}\r\nA,,4,5,,,1\r\nB,,6,,,,0\r\n",
        f"{HEADER},,\nA,,4,5,,,1,,\nB,,6,,,,0,,\n",
        '"boat", entry_age ,good_at,condemned_at,failed_at,weight,rod\n'
        '"A",, 4 ,"5.0",,1.0,1\n B ,,6e0,,,,+0\n\n\n',
        f"{HEADER}\nA,,4,5,,,1\nB,,6,,,,0",
    ):
        lives = read(tmp_path, text)
        assert lives.good.tolist() == plain.good.tolist()
        assert lives.condemned.tolist() == plain.condemned.tolist()
        assert lives.X.tolist() == plain.X.tolist()


def test_columns_may_stand_in_any_order(tmp_path):
    lives = read(tmp_path, "rod,weight,failed_at,boat,condemned_at,entry_age,good_at\n1,,,A,,2,5\n")
    assert (lives.entry[0], lives.good[0], lives.X[0, 0]) == (2.0, 5.0, 1.0)


@pytest.mark.parametrize("missing", HEADER.split(",")[:-1])
def test_a_missing_or_renamed_column_is_named(tmp_path, missing):
    (fault,) = faults(tmp_path, "A,,4,,,,1", header=HEADER.replace(missing, "renamed", 1))
    assert (fault.row, fault.column) == (1, missing)
    assert "renamed" in fault.sentence


@pytest.mark.parametrize(
    ("header", "column", "says"),
    [
        (HEADER + ",rod", "rod", "named twice"),
        (HEADER + ",good_at", "good_at", "named twice"),
        (HEADER + ",intercept", "intercept", "the model uses this name"),
        (HEADER + ",log_sigma", "log_sigma", "the model uses this name"),
        (HEADER.replace("weight,", "weight,,"), "7", "has no name"),
    ],
)
def test_a_header_that_cannot_be_is_refused(tmp_path, header, column, says):
    (fault,) = faults(tmp_path, "A,,4,,,,1,1", header=header)
    assert (fault.row, fault.column) == (1, column)
    assert says in fault.sentence


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "empty"),
        ("\n\n", "empty"),
        (HEADER + "\n", "no lives below the header"),
        (HEADER.replace(",", ";") + "\nA;;4;;;;1\n", "separated by commas"),
        (HEADER + "\nA,,4,,,,1,7\n", "has 8 cells where the header names 7"),
        (HEADER + "\nA,,4\n", "has 3 cells where the header names 7"),
        (HEADER + '\n"A,,4,,,,1\n', "not readable as CSV"),
    ],
)
def test_a_file_that_is_no_table_of_lives_is_refused(tmp_path, text, says):
    with pytest.raises(FaultyFile, match=says):
        read(tmp_path, text)


def test_a_file_in_another_encoding_is_refused_with_its_row(tmp_path):
    with pytest.raises(FaultyFile, match=r"row 2: not UTF-8"):
        read(tmp_path, f"{HEADER}\nÅse,,4,,,,1\n", encoding="latin-1")
    with pytest.raises(FaultyFile, match="not UTF-8"):
        read(tmp_path, f"{HEADER}\nA,,4,,,,1\n", encoding="utf-16")


def test_boats_and_columns_may_be_named_in_any_script(tmp_path):
    lives = read(tmp_path, f"{HEADER},соль\nΓλάρος,,4,,,,1,2\nカモメ,,5,,,,1,3\n")
    assert lives.names == ("rod", "соль")
    assert lives.cluster.tolist() == [0, 1]
