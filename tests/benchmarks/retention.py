"""How many posts of a case get a way of holding that its object's twist and class pass, by the rule of choice.

`python -m tests.benchmarks.retention CASE/out`, on what `scanprep demo` or `scanprep batch` wrote. For each
object: its rod, its standing twist, and what is proposed for the first drill's usual hole. Forces are the tables'
(60 N of push), so this counts proposals, not coupons.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from pathlib import Path

from scanprep.post.drill import first_drill, hole_limits_mm
from scanprep.post.retention import Demand, propose_retention
from scanprep.rules import Rulebook
from scanprep.units import weight_N


def main() -> None:
    """Print a line an object and the count of each way of holding."""
    rules, counts = Rulebook(), Counter[str]()
    for path in sorted(Path(sys.argv[1]).glob("*/spec.json")):
        post = json.loads(path.read_text(encoding="utf-8"))["post"]
        if post is None:
            counts["no post"] += 1
            continue
        rod_mm, load_N = post["diameter_mm"], weight_N(post["carried_g"])
        demand = Demand(load_N, post["proof_twist_Nmm"] / rules.fit.proof_twist_times, load_N * rules.hold.margin_g)
        gap_um = (hole_limits_mm(first_drill(rod_mm, rules.fit).diameter_mm).best - rod_mm) * 1000
        proposal = propose_retention(rod_mm, gap_um, rules, demand)
        held = proposal.retention
        counts["drill anew" if held is None else held.means.value + (f" + {held.key.value}" if held.key else "")] += 1
        print(f"{path.parent.name:10s} {post['rod']:5s} {demand.size(rules):7s} {demand.standing_twist_Nmm:6.1f} N mm  "
              f"{proposal.why if held is None else held.words}")
    print(", ".join(f"{count} {name}" for name, count in counts.most_common()))


if __name__ == "__main__":
    main()
