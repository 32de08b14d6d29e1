import os

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ramphold.cli._csv_table import read_table
from ramphold.errors import InputError

COLUMNS = ("t_s", "force_lbf")


def test_rows_come_in_order_with_their_number_in_the_file(csv_file):
    rows = read_table(csv_file("t_s,force_lbf\n0.0,12\n0.1,-3e1\n"), COLUMNS)

    assert [(row.line, row.number("t_s"), row.number("force_lbf")) for row in rows] == [
        (2, 0.0, 12.0),
        (3, 0.1, -30.0),
    ]


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("force_lbf,t_s\n12,0.5\n", id="columns in another order"),
        pytest.param(" t_s , force_lbf \n 0.5 ,\t12 \n", id="spaces around names and cells"),
        pytest.param("\ufefft_s,force_lbf\n0.5,12\n", id="byte order mark"),
        pytest.param("t_s,force_lbf\r\n0.5,12\r\n", id="CR LF"),
        pytest.param("t_s,force_lbf\r0.5,12\r", id="CR alone"),
        pytest.param("t_s,force_lbf\n0.5,12", id="no end of line at the end"),
        pytest.param('"t_s","force_lbf"\n"0.5","12"\n', id="quotes"),
    ],
)
def test_what_spreadsheets_do_to_a_file_does_not_matter(csv_file, text):
    (row,) = read_table(csv_file(text), COLUMNS)

    assert (row.number("t_s"), row.number("force_lbf")) == (0.5, 12.0)


@pytest.mark.parametrize("hidden", ["\x1b", "\u202e", "\u200b"])
def test_a_text_with_a_hidden_character_is_refused(csv_file, hidden):
    (row,) = read_table(csv_file(f"t_s,force_lbf\nA{hidden}B,1\n"), COLUMNS)

    with pytest.raises(InputError, match=f"row 2, t_s: .*not U\\+{ord(hidden):04X}"):
        row.text("t_s")


def test_blank_rows_are_skipped_but_counted(csv_file):
    rows = read_table(csv_file("\nt_s,force_lbf\n\n0,1\n , \n,\n1,2\n\n"), COLUMNS)

    assert [row.line for row in rows] == [4, 7]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        pytest.param("", "is empty: expected a CSV file with the header t_s,force_lbf", id="empty"),
        pytest.param("\n \n", "is empty", id="blank lines only"),
        pytest.param("t_s,force_lbf\n", "has no rows under its header", id="header only"),
        pytest.param(
            "t,force_lbf\n0,1\n",
            "row 1: the header is 't,force_lbf', expected t_s,force_lbf",
            id="wrong name",
        ),
        pytest.param("T_S,FORCE_LBF\n0,1\n", "row 1: the header is", id="other letter case"),
        pytest.param("t_s\n0\n", "row 1: the header is", id="column missing"),
        pytest.param("t_s,force_lbf,x\n0,1,2\n", "row 1: the header is", id="column too many"),
        pytest.param("t_s,force_lbf,t_s\n0,1,2\n", "row 1: the header is", id="column twice"),
        pytest.param("t_s;force_lbf\n0;1\n", "separated by ';': expected commas", id="semicolons"),
        pytest.param("0,1\n1,2\n", "row 1: the header is '0,1'", id="no header"),
        pytest.param("t_s,force_lbf\n0,1\n1\n", "row 3: 1 cells, expected 2", id="cell missing"),
        pytest.param("t_s,force_lbf\n\n0,1,2\n", "row 3: 3 cells, expected 2", id="extra cell"),
        pytest.param("t_s,force_lbf\n0,1\n1,\0\n", "row 3: a NUL byte", id="NUL"),
        pytest.param(b"t_s,force_lbf\n0,\xb5\n", "row 2: not UTF-8 text", id="undecodable"),
        pytest.param("t_s,force_lbf\n0,1\n".encode("utf-16"), "row 1", id="UTF-16"),
        pytest.param(b"\x7fELF\x02\x01\x01\0\0\0", "row 1: a NUL byte", id="a program"),
        pytest.param('t_s,force_lbf\n0,"1\n', "not CSV", id="quote left open"),
        pytest.param('t_s,force_lbf\n0,"1"2\n', "row 2: not CSV", id="text after a quote"),
        pytest.param("t_s,force_lbf\n0," + "9" * 200_000, "row 2: not CSV", id="endless cell"),
    ],
)
def test_what_is_no_such_table_is_told_with_file_and_row(csv_file, content, told):
    path = csv_file(content)

    with pytest.raises(InputError) as error:
        read_table(path, COLUMNS)

    assert str(error.value).startswith(path)
    assert told in str(error.value)
    assert "\n" not in str(error.value)


def test_a_missing_file_is_told(tmp_path):
    with pytest.raises(InputError, match=r"gone\.csv does not exist"):
        read_table(str(tmp_path / "gone.csv"), COLUMNS)


def test_a_folder_is_told(tmp_path):
    with pytest.raises(InputError, match="is a folder"):
        read_table(str(tmp_path), COLUMNS)


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_that_may_not_be_read_is_told(csv_file, tmp_path):
    path = csv_file("t_s,force_lbf\n0,1\n")
    (tmp_path / "input.csv").chmod(0)

    with pytest.raises(InputError, match="permission denied"):
        read_table(path, COLUMNS)


def test_a_path_that_leads_round_in_a_circle_is_told(tmp_path):
    (tmp_path / "loop.csv").symlink_to(tmp_path / "loop.csv")

    with pytest.raises(InputError, match=r"loop\.csv can't be read"):
        read_table(str(tmp_path / "loop.csv"), COLUMNS)


@pytest.mark.parametrize(
    ("cell", "told"),
    [
        pytest.param("", "the cell is empty", id="nothing"),
        pytest.param("heavy", "'heavy' is not a number", id="a word"),
        pytest.param("12lbf", "'12lbf' is not a number", id="a unit"),
        pytest.param('"12,570"', "'12,570' is not a number", id="a thousands comma"),
        pytest.param("1_000", "not a number", id="an underscore"),
        pytest.param("١٢", "not a number", id="digits of another script"),
        pytest.param("0x10", "not a number", id="hexadecimal"),
        pytest.param("nan", "'nan' is not a finite number", id="nan"),
        pytest.param("-Inf", "'-Inf' is not a finite number", id="inf"),
        pytest.param("1e999", "not a finite number", id="too big for a float"),
        pytest.param("x" * 900, f"'{'x' * 40}…' is not a number", id="a long text is cut"),
    ],
)
def test_a_cell_that_is_no_number_is_told_with_row_and_column(csv_file, cell, told):
    *_, row = read_table(csv_file(f"t_s,force_lbf\n0,1\n1,{cell}\n"), COLUMNS)

    with pytest.raises(InputError) as error:
        row.number("force_lbf")

    assert "input.csv row 3, force_lbf: " in str(error.value)
    assert told in str(error.value)


@pytest.mark.parametrize(
    ("bounds", "told"),
    [
        ({"minimum": 0.0}, "'-0.5' is too low: expected 0 or more"),
        ({"above": -0.5}, "'-0.5' is too low: expected more than -0.5"),
        ({"maximum": -1.0}, "'-0.5' is too high: expected -1 or less"),
    ],
)
def test_a_number_out_of_bounds_is_told_with_the_bound(csv_file, bounds, told):
    (row,) = read_table(csv_file("t_s,force_lbf\n0,-0.5\n"), COLUMNS)

    with pytest.raises(InputError) as error:
        row.number("force_lbf", **bounds)

    assert str(error.value).endswith(f"row 2, force_lbf: {told}")


def test_a_number_on_its_bound_is_accepted(csv_file):
    (row,) = read_table(csv_file("t_s,force_lbf\n0,100\n"), COLUMNS)

    assert row.number("t_s", minimum=0) == 0
    assert row.number("force_lbf", maximum=100) == 100


@given(st.binary(max_size=200))
def test_any_bytes_give_rows_or_an_input_error(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("table") / "any.csv"
    path.write_bytes(b"t_s,force_lbf\n" + content)

    rows, told = [], ""
    try:
        rows = read_table(str(path), COLUMNS)
    except InputError as error:
        told = str(error)

    assert rows or told.startswith(str(path))
    assert all(set(row.cells) == set(COLUMNS) for row in rows)
