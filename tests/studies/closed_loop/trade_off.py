"""What was played as a table and a picture: goods kept at home against running short.

    python -m tests.studies.closed_loop.trade_off

Arms are compared over the same households only: those that all of them have played. An arm that
has played less than half as many as another is left out.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from tests.studies.closed_loop.picture import picture
from tests.studies.closed_loop.play import RESULTS, read
from tests.studies.closed_loop.summing_up import by_arm, table


def main() -> None:
    """Write table and picture of what was played."""
    parser = argparse.ArgumentParser(description="Sum up the closed loop.")
    parser.add_argument("--households", type=int, help="only the first so many")
    parser.add_argument("--results", type=Path, default=RESULTS)
    parser.add_argument("--picture", type=Path, default=RESULTS.with_suffix(".svg"))
    args = parser.parse_args()
    summaries = by_arm(read(args.results), args.households)
    print(table(summaries))
    if summaries:
        args.picture.write_text(picture(summaries), encoding="utf-8")


if __name__ == "__main__":
    main()
