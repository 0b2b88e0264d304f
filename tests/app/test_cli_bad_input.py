"""Bad input ends with status 2, one sentence for each fault, and nothing on standard output."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from app.cli import BAD_INPUT, main
from tests.planner.scenario_builders import SMALL, spoilt, with_more


@pytest.fixture
def good(tmp_path: Path) -> Path:
    path = tmp_path / "good.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def refused(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """What the command says on standard error when it refuses its input."""
    assert main(arguments) == BAD_INPUT
    output = capsys.readouterr()
    assert output.out == ""
    return output.err


SPOILT = {
    "a wrong date": (
        spoilt("at = 2026-03-01", 'at = "soon"'),
        (
            'receipts[1].at is "soon": write a date such as 2026-03-08 or a date and time such as '
            "2026-03-08T09:30:00."
        ),
    ),
    "a negative volume": (
        spoilt("ml = [180]", "ml = [-5]"),
        "sessions[1].bottles[1].ml is -5: give 0 to 5000 mL.",
    ),
    "an unknown item": (
        spoilt('item = "K5"', 'item = "K9"'),
        "receipts[1].item is K9: no such item; correct the code or add it (known: K5).",
    ),
    "an expiry before the receipt": (
        spoilt("expires_on = 2027-06-30", "expires_on = 2026-02-28"),
        (
            "receipts[1].expires_on is 2026-02-28: it lies before the receipt on 2026-03-01; check "
            "the use-by date."
        ),
    ),
    "a session in the future": (
        with_more("\n[[sessions]]\nat = 2026-03-12\nml = [100]\n"),
        (
            "sessions[3].at is 2026-03-12: it lies after the day of the plan, 2026-03-08; correct "
            "it or plan for a later day."
        ),
    ),
    "a volume above the capacity": (
        spoilt("ml = [180]", "ml = [501]"),
        (
            "sessions[1].bottles[1].ml is 501: a bottle of K5 holds 500 mL; split the volume over "
            "the bottles that were used."
        ),
    ),
    "an unknown key": (
        spoilt("units = 30", "unit = 30"),
        "receipts[1].unit is unknown: there is no such field (did you mean units?).",
    ),
    "a syntax error": (
        spoilt("units = 30", "units 30"),
        (
            "the file is not valid TOML: correct it at line 39, column 7 (expected '=' after a key "
            "in a key/value pair)."
        ),
    ),
}


@pytest.mark.parametrize("command", [["plan"], ["plan", "--json"], ["check"]])
@pytest.mark.parametrize("what", list(SPOILT))
def test_each_kind_of_bad_file_is_refused_with_its_sentence(
    what: str, command: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, sentence = SPOILT[what]
    path = tmp_path / "home.toml"
    path.write_text(text, encoding="utf-8")
    lines = refused([*command, str(path)], capsys).splitlines()
    assert f"{path}: {sentence}" in lines
    assert all(line.startswith(f"{path}: ") and line.endswith(".") for line in lines)


def test_one_bad_file_keeps_the_plans_of_the_good_ones_back(
    good: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text(spoilt("ml = [180]", "ml = [-5]"), encoding="utf-8")
    errors = refused(["plan", str(good), str(bad)], capsys)
    assert errors == f"{bad}: sessions[1].bottles[1].ml is -5: give 0 to 5000 mL.\n"


def test_a_missing_file_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "none.toml"
    assert refused(["plan", str(path)], capsys) == (
        f"{path}: the file cannot be read: no such file or directory; check the path.\n"
    )


def test_an_empty_folder_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert refused(["check", str(tmp_path)], capsys) == (
        f"{tmp_path}: the folder holds no file that ends in .toml; check the path.\n"
    )


def test_a_day_that_is_none_is_named(good: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert refused(["plan", str(good), "--as-of", "8 March"], capsys) == (
        "--as-of is 8 March: give a date such as 2026-03-08.\n"
    )


def test_a_day_out_of_bounds_is_named(good: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert refused(["plan", str(good), "--as-of", "9999-12-31"], capsys) == (
        f"{good}: --as-of is 9999-12-31: give a year from 1990 to 2100.\n"
    )


def test_a_day_before_the_last_record_is_refused(
    good: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert refused(["plan", str(good), "--as-of", "2026-03-06"], capsys) == (
        f"{good}: sessions[2].at is 2026-03-07: it lies after the day of the plan, 2026-03-06; "
        "correct it or plan for a later day.\n"
    )


def test_one_household_in_two_files_is_refused(
    good: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    twin = tmp_path / "twin.toml"
    twin.write_text(SMALL, encoding="utf-8")
    assert refused(["plan", str(good), str(twin)], capsys) == (
        f"{twin}: household.id is hw-1: {good} has it too; give each household its own id.\n"
    )


def test_files_of_different_days_are_not_put_together(
    good: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    later = tmp_path / "later.toml"
    text = spoilt("as_of = 2026-03-08", "as_of = 2026-03-10").replace("hw-1", "hw-2")
    later.write_text(text, encoding="utf-8")
    assert refused(["plan", str(good), str(later)], capsys) == (
        "The files are of different days, so their orders cannot be put together: give one day "
        "with --as-of, or plan the files one by one.\n"
    )


@pytest.mark.parametrize("arguments", [[], ["plan"], ["fly"], ["plan", "x.toml", "--fast"]])
def test_a_command_that_is_none_is_refused(
    arguments: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert "usage: ebbstock" in refused(arguments, capsys)


def test_a_port_that_is_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert "EBBSTOCK_PORT is eighty" in refused(["serve", "--port", "eighty"], capsys)


def test_an_unknown_household_cannot_be_exported(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("EBBSTOCK_DATABASE_URL", f"sqlite:///{tmp_path / 'empty.db'}")
    assert refused(["export", "hw-0"], capsys) == (
        "ID is hw-0: the database has no such household; check the id.\n"
    )


def test_of_very_many_faults_the_first_are_shown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    seed = Path(__file__).parents[2] / "seed_scenarios" / "runs_short.toml"
    assert main(["plan", str(seed), "--as-of", "2026-01-01"]) == 2
    shown = capsys.readouterr()
    lines = shown.err.splitlines()
    assert shown.out == ""
    assert len(lines) == 21
    assert lines[-1].endswith("more faults; correct these first.")


@pytest.mark.parametrize("command", ["serve", "demo"])
def test_an_address_in_use_is_refused_before_anything_starts(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert main([command, "--port", str(port)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert f"port {port}" in shown.err
    assert "--port" in shown.err
