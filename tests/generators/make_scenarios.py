"""Write the seed scenarios: `python -m tests.generators.make_scenarios [FOLDER]`."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from planner.scenario import ScenarioFile
from planner.scenario_writer import write_scenario
from tests.generators.agency import AGENCY_DESCRIPTION, forty_households
from tests.generators.simulate import AS_OF
from tests.generators.singles import SINGLES

FOLDER = Path(__file__).parents[2] / "seed_scenarios"


def scenario_texts() -> Iterator[tuple[str, str]]:
    """File name and text of every seed scenario."""
    for name, make in SINGLES.items():
        description = " ".join((make.__doc__ or "").split())
        file = ScenarioFile(as_of=AS_OF, households=(make(),), description=description)
        yield f"{name}.toml", write_scenario(file)
    agency = ScenarioFile(
        as_of=AS_OF, households=forty_households(), description=AGENCY_DESCRIPTION
    )
    yield "agency_forty.toml", write_scenario(agency)


def main() -> None:
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER
    for name, text in scenario_texts():
        (folder / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
