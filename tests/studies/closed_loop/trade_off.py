"""What was played as a table and a picture: goods kept at home against running short.

    python -m tests.studies.closed_loop.trade_off
    python -m tests.studies.closed_loop.trade_off --keep

With `--keep` table and picture become part of the project, for `python -m tests.studies.results`.
Arms are compared over the same households only: those that all of them have played. An arm that
has played less than half as many as another is left out. Arms that were kept before over as many
households stay.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict
from pathlib import Path

from tests.studies.closed_loop.picture import picture
from tests.studies.closed_loop.play import RESULTS, read
from tests.studies.closed_loop.summing_up import KEPT, by_arm, kept, table, with_earlier


def main() -> None:
    """Write table and picture of what was played."""
    parser = argparse.ArgumentParser(description="Sum up the closed loop.")
    parser.add_argument("--households", type=int, help="only the first so many")
    parser.add_argument("--results", type=Path, default=RESULTS)
    parser.add_argument("--picture", type=Path, default=RESULTS.with_suffix(".svg"))
    parser.add_argument("--keep", action="store_true", help="store the summary in the project")
    args = parser.parse_args()
    summaries = by_arm(read(args.results), args.households)
    if args.keep:
        summaries = with_earlier(summaries, kept())
    print(table(summaries))
    if summaries:
        target = KEPT.with_suffix(".svg") if args.keep else args.picture
        target.write_text(picture(summaries), encoding="utf-8")
    if args.keep:
        lines = [asdict(one) for one in summaries]
        KEPT.write_text(json.dumps(lines, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
