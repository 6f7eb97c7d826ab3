"""The whole plan as JSON."""

import json

from buildlog.core.plan.materials.cutting import cut_list
from buildlog.core.plan.parameter_table import StockParameters
from buildlog.core.plan.plan import compute
from buildlog.core.plan.whole import whole_json
from tests.core.plan.conftest import ball


def test_the_whole_plan_is_one_json_document() -> None:
    plan = compute(ball(ribs=12, stock=StockParameters(roll_m=30.0)))
    out = json.loads(json.dumps(whole_json(plan, "NY", cut_list(plan, seconds=1)), allow_nan=False))
    assert {"cutting", "power", "mass", "supplies", "ways", "rings", "segments", "channels", "totals"} <= set(out)
    assert out["power"]["levels"]["peak"]["mains_w"] > out["power"]["levels"]["idle"]["mains_w"]
    assert out["channels"][0]["label"] == "C01"
    assert out["cutting"]["proved"] in (True, False)
    assert whole_json(plan)["cutting"] is None
