"""`ebbstock plan`, `check` and `export`: the same input gives the same bytes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from app.cli import OK, main
from app.convert import write_household
from app.db import create_tables, open_engine, transaction
from app.settings import SEED_SCENARIOS
from planner.plan import make_plan
from planner.scenario import parse_scenario
from tests.planner.scenario_builders import SMALL, with_more

CAUTION = (
    "This tool counts supplies. It does not tell you when or how much to drain. "
    "Follow your own plan."
)


@pytest.fixture
def small(tmp_path: Path) -> Path:
    path = tmp_path / "small.toml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def printed(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """What the command prints when all is well; it says nothing on standard error."""
    assert main(arguments) == OK
    output = capsys.readouterr()
    assert output.err == ""
    return output.out


def test_the_text_gives_the_answer_first(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = printed(["plan", str(small)], capsys).splitlines()
    assert lines[0] == "Odile Marchmont - plan of Sun 8 March 2026"
    (home,) = parse_scenario(SMALL).households
    days = make_plan(home, parse_scenario(SMALL).as_of).run_out.expected_days
    assert lines[4].startswith(f"Supplies for {days} days. They will probably last through ")


def test_the_text_shows_the_shelf_and_the_caution_and_fits_the_screen(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = printed(["plan", str(small)], capsys)
    assert "- 500 mL kit: 28 kits to use" in text
    assert CAUTION in " ".join(text.split())
    assert max(len(line) for line in text.splitlines()) <= 88


def test_the_json_holds_the_plan_and_its_words(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = json.loads(printed(["plan", str(small), "--json"], capsys))
    assert document["format"] == 1
    assert document["combined_orders"] == []
    (plan,) = document["plans"]
    (home,) = parse_scenario(SMALL).households
    true_plan = make_plan(home, parse_scenario(SMALL).as_of)
    assert plan["as_of"] == "2026-03-08"
    assert plan["urgency"] == true_plan.urgency.value
    assert plan["run_out"]["expected_days"] == true_plan.run_out.expected_days
    assert plan["run_out"]["expected_on"] == str(true_plan.run_out.expected_on)
    assert plan["run_out"]["chance_by_day"] == pytest.approx(
        true_plan.run_out.chance_by_day, abs=5e-7
    )
    assert [one["code"] for one in plan["reasons"]] == [one.code for one in true_plan.reasons]
    assert all(one["text"].endswith(".") for one in plan["reasons"])
    assert plan["caution"] == CAUTION


def test_json_keys_are_sorted_and_numbers_short(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = printed(["plan", str(small), "--json"], capsys)
    assert text == json.dumps(json.loads(text), indent=2, sort_keys=True, ensure_ascii=False) + "\n"
    for chance in json.loads(text)["plans"][0]["run_out"]["chance_by_day"]:
        assert round(chance, 6) == chance


def test_the_json_names_no_person(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "Marchmont" not in printed(["plan", str(small), "--json"], capsys)


@pytest.mark.parametrize("form", [[], ["--json"]])
def test_the_same_input_gives_the_same_bytes(
    small: Path, form: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    first = printed(["plan", str(small), *form], capsys)
    assert printed(["plan", str(small), *form], capsys) == first


def test_the_day_of_the_plan_can_be_chosen(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = printed(["plan", str(small), "--as-of", "2026-03-10"], capsys)
    assert text.startswith("Odile Marchmont - plan of Tue 10 March 2026\n")


def test_a_folder_ends_with_who_comes_first_and_the_combined_order(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "a.toml").write_text(SMALL, encoding="utf-8")
    nearly_out = with_more('\n[[counts]]\nat = 2026-03-08\nitem = "K5"\nunits = 2\n')
    text = nearly_out.replace("hw-1", "hw-2").replace("Odile Marchmont", "Piet Anselm")
    (tmp_path / "b.toml").write_text(text, encoding="utf-8")
    (tmp_path / "notes.txt").write_text("not a scenario", encoding="utf-8")
    shown = printed(["plan", str(tmp_path)], capsys)
    overview = shown[shown.index("Households, the most urgent first") :]
    assert overview.index("Piet Anselm") < overview.index("Odile Marchmont")
    assert "Running short    Piet Anselm" in overview
    assert "Tarnbrook Home Supplies: order by Mon 9 March, comes on Thu 12 March" in overview
    document = json.loads(printed(["plan", str(tmp_path), "--json"], capsys))
    assert [one["household_id"] for one in document["plans"]] == ["hw-1", "hw-2"]
    (order,) = document["combined_orders"]
    assert order["totals"][0]["item_code"] == "K5"
    boxes = [line["boxes"] for part in order["households"] for line in part["lines"]]
    assert order["totals"][0]["boxes"] == sum(boxes) > 0


def test_a_file_named_twice_is_planned_once(
    small: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    once = printed(["plan", str(small)], capsys)
    assert printed(["plan", str(small), str(small.parent)], capsys) == once


def test_check_says_what_a_file_holds(small: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert printed(["check", str(small)], capsys) == (
        f"{small}: can be used (1 household, 2 sessions, up to 2026-03-08)\n"
    )


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert printed(["--version"], capsys).startswith("ebbstock ")


def test_an_exported_household_can_be_read_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    url = f"sqlite:///{tmp_path / 'homes.db'}"
    monkeypatch.setenv("EBBSTOCK_DATABASE_URL", url)
    monkeypatch.setenv("EBBSTOCK_NOW", "2026-03-09T12:00:00+00:00")
    (home,) = parse_scenario(SMALL).households
    engine = open_engine(url)
    create_tables(engine)
    with transaction(engine) as db:
        write_household(db, home)
    engine.dispose()
    file = parse_scenario(printed(["export", "hw-1"], capsys))
    assert file.households == (home,)
    assert str(file.as_of) == "2026-03-09"


def test_assumptions_of_your_own_are_taken_from_a_file(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    own.write_text("loss_chance = 0.25\nloss_weight = 900\n", encoding="utf-8")
    scenario = str(SEED_SCENARIOS / "chest_every_other_day.toml")
    command = [sys.executable, "-m", "app.cli", "plan", scenario]
    usual = subprocess.run(command, capture_output=True, text=True, check=True)
    lossy = subprocess.run(
        command,
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "EBBSTOCK_ASSUMPTIONS": str(own)},
    )
    assert usual.stdout != lossy.stdout
    own.write_text("loss_chance = 2\n", encoding="utf-8")
    refused = subprocess.run(
        command,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "EBBSTOCK_ASSUMPTIONS": str(own)},
    )
    assert refused.returncode == 2
    assert "loss_chance is 2: give 0 to 0.3." in refused.stderr
