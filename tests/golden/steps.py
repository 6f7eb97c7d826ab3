"""What is asked for the golden files: commands as typed, and addresses, each with the file its answer goes to."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import Any

DATA = Path(__file__).parents[1] / "data"
OWNER, DEMO_LEAD = "Golda", "Rowan"
NOW = "2026-05-16T12:00:00+00:00"
KINDS = ("rings", "segments", "channels", "pixels", "notches", "cuts", "power", "supplies")
PAGES = (
    "today", "sphere", "plan", "plan/revise", "forecast", "forecast/day-plan", "forecast/hand-out", "forecast/what-if",
    "supplies", "crew", "hours", "jobs", "close-in", "print", "settings", "segments/R9-1", "segments/R31-2",
    "load/stints", "devices",
)  # fmt: skip

BALL = "--diameter 2.6m --pitch 30mm --ring-spacing 30mm"
WORKS = (
    "--diameter 1.9m --pitch 30mm --ring-spacing 35mm --top-pixels 40 --bottom-deg 20 --ribs 16 --seam-rib 3"
    " --seam-stagger 1 --max-segment 70 --min-segment 12 --capacity 400 --outputs 32 --closing-rings 40-48"
    " --closing-bays 15-2 --channel-cut joints --alternate --roll 5m --offcuts '3 x 1.2m; 900mm' --kerf-holes 1"
    " --box-deg 120 --box-rib 5 --box-outside 2m --volts 24 --full-ma 30 --least-volts 20 --price-pixel 0.2"
    " --price-roll 9.5 --frame-kg 40 --people wire=3"
)
PLANS = {
    "metric": BALL,
    "imperial": "--diameter 8ft --pitch 1in --ring-spacing 1.5in --ribs 16 --max-segment 120",
    "ring-count": "--diameter 1.8m --pitch 25mm --rings-count 41 --capacity 350",
    "ribs": f"{BALL} --ribs 24 --seam-rib 5 --max-segment 90 --min-segment 20",
    "stagger": f"{BALL} --ribs 12 --seam-stagger 3 --strap-width 12mm --edge-strain-limit 20%",
    "openings": f"{BALL} --top-pixels 44 --bottom-deg 14",
    "bottom-pixels": f"{BALL} --top-deg 10 --bottom-pixels 160",
    "dome": f"{BALL} --top-deg 5 --bottom-deg 120",
    "snap": f"{BALL} --snap-share 30% --ribs 20",
    "closing-rings": f"{BALL} --ribs 24 --closing-rings 88-90",
    "door": f"{BALL} --ribs 24 --closing-rings 40-60 --closing-bays 22-3",
    "joints": f"{BALL} --ribs 20 --channel-cut joints --capacity 480",
    "whole-rings": f"{BALL} --channel-cut rings --capacity 700",
    "from-bottom": f"{BALL} --start-from bottom --alternate --max-segment 75",
    "few-outputs": f"{BALL} --outputs 40 --spare-share 0 --capacity 600",
    "measured": f"--rings {DATA}/north-yard/rings.csv --max-segment 100 --ribs 18",
    "measured-diameter": f"--rings {DATA}/south-hall/rings.csv --pitch 30mm --diameter 2.1m --capacity 300",
    "power": f"{BALL} --volts 5 --idle-ma 0.8 --full-ma 36 --brightness 40% --typical-share 30% --least-volts 4.2"
    " --feed-drop-volts 0.2 --chain-wire '0.75 mm2' --hop 45mm --supply-watts 200 --mains-volts 120 --breaker-amps 20",
    "readings": f"{BALL} --reading-pixels 500 --reading-idle 9 --reading-typical 60 --reading-peak 210"
    " --service-level 99% --failure-share 2% --price-pixel 0.18 --price-supply 31 --price-output 12.5",
    "stock": f"{BALL} --max-segment 90 --roll 5m --rolls 100 --offcuts '3 x 1.2m; 900mm' --kerf-holes 1"
    " --patch-pixels 3",
    "wiring": f"{BALL} --box-deg 90 --box-rib 3 --ribs 8 --box-outside 6ft --lead-slack 1ft --bit-ns 2500 --bits 32"
    " --reset-us 50",
    "mass": f"{BALL} --pixel-g 6.5 --strap-g-m 38 --lead-g-m 50 --frame-kg 85 --frame-height 1.1m --people wire=3"
    " --people test=1",
    "by-hand": "--diameter 1m --pitch 50mm --rings-count 5 --top-deg 40 --bottom-deg 40 --max-segment 25"
    " --hand-pieces '2: 20 20 16'",
    "large": "--diameter 6m --pitch 40mm --ring-spacing 40mm --ribs 36 --top-deg 8 --bottom-deg 8 --capacity 900",
    "works": WORKS,
}
WRONG = (
    "plan --diameter big --pitch 30mm", f"plan {BALL} --capacity 0 --ribs 1 --volts 99 --seam-rib 9",
    "plan --pitch 30mm --rings-count 10", f"plan {BALL} --top-deg 120 --bottom-deg 100", f"plan {BALL} --roll 10cm",
    f"plan {BALL} --hand-pieces '12: 50 48 48'", f"plan {BALL} --closing-rings 200-210", "plan --diameter -3m --pich 3",
    f"plan --rings {DATA}/messy/rings-bad.csv", f"load stints {DATA}/messy/stints-bad.csv --build YARD",
    f"load availability {DATA}/messy/availability-mixed.csv --build YARD", "locate --build YARD --channel 99 --pixel 1",
    "locate --build YARD --segment R1-1 --pixel 29", "locate --build YARD --pixel 1", "table pixels --build YARD",
    "forecast --build YARD --as-of soon", "forecast --build YARD --what-it-takes", "forecast --build NONE",
    "forecast --build YARD --without Zoe --first-rings 99", f"unpack {DATA}/north-yard/rings.csv", "audit --build NONE",
    "pack --build YARD --out /nowhere/x.zip", "plan --save YARD --rings x.csv", f"plan {BALL} --save YARD",
)  # fmt: skip


def run(line: str, into: str = "") -> dict[str, Any]:
    """A command as typed; what it prints goes to the file ``into``, or to the list of what was done."""
    return {"run": shlex.split(line), "into": into}


def get(address: str, into: str) -> dict[str, Any]:
    """A page as the lead sees it."""
    return {"get": address, "into": into, "account": OWNER}


def post(address: str, into: str, account: str = OWNER, **form: Any) -> dict[str, Any]:
    return {"post": address, "form": form, "into": into, "account": account}


def begin() -> Iterator[dict[str, Any]]:
    yield run("migrate --verbosity 0")
    yield run("collectstatic --noinput --verbosity 0")
    yield run(f"createsuperuser --noinput --username {OWNER} --email golda@barn.test")


def fresh() -> Iterator[dict[str, Any]]:
    """Everything from the start: planned, loaded, worked on, revised, packed."""
    yield from begin()
    for name, options in PLANS.items():
        yield run(f"plan {options} --json", f"plans/{name}.json")
        yield run(f"plan {options}")
    for code, folder in (("YARD", "north-yard"), ("HALL", "south-hall")):
        yield from _loaded(code, folder)
    yield run("demo --quiet")
    yield run(f"plan {WORKS} --save WORKS --name 'Water works' --time-zone Europe/Oslo")
    for kind in ("jobs", "crew", "availability", "stints", "stock"):
        yield run(f"load {kind} {DATA}/water-works/{kind}.csv --build WORKS")
    yield run(f"plan {BALL} --ribs 20 --roll 6m --save DRAFT --draft")
    for code, as_of in BUILDS.items():
        yield from answers(code, as_of)
    yield from stored("DRAFT")
    yield from _revised()
    yield from _asked()
    for code in (*BUILDS, "REVISED", "DRAFT"):
        yield run(f"pack --build {code} --out packs/{code}.zip")
    yield from map(run, WRONG)


BUILDS = {"YARD": "2026-05-09 22:00", "HALL": "2026-03-28 22:00", "LANTERN": NOW, "WORKS": NOW}


def _loaded(code: str, folder: str, *kinds: str) -> Iterator[dict[str, Any]]:
    yield run(f"plan --rings {DATA}/{folder}/rings.csv --max-segment 100 --capacity 500 --outputs 64 --save {code}"
              f" --name 'A {folder}' --time-zone Europe/Lisbon")  # fmt: skip
    for kind in ("crew", "availability", "stints"):
        yield run(f"load {kind} {DATA}/{folder}/{kind}.csv --build {code}")


def answers(code: str, as_of: str) -> Iterator[dict[str, Any]]:
    """What a build says by command."""
    ask = f"forecast --build {code} --as-of '{as_of}'"
    for seed in (1, 2, 3):
        yield run(f"{ask} --seed {seed} --json", f"{code}/forecast-{seed}.json")
    yield run(ask)
    yield run(f"{ask} --day-plan --json", f"{code}/day-plan.json")
    yield run(f"{ask} --trials 300 --what-if Hands --more '2 Sat,Sun 10:00-17:00' --people wire=1"
              " --what-if Start --first-rings 20-25 --no-rework --hand-over --target 2026-07-01 --json",
              f"{code}/what-if.json")  # fmt: skip
    if code == "LANTERN":
        yield run(f"{ask} --trials 200 --what-it-takes 90 --json", f"{code}/what-it-takes.json")
    yield run(f"assign --build {code} --from-day-plan --dry-run --json", f"{code}/assign.json")
    yield from stored(code)


def stored(code: str) -> Iterator[dict[str, Any]]:
    """What follows from the plan and the ledger alone."""
    yield from (run(f"table {kind} --build {code} --out {code}/{kind}.csv") for kind in KINDS)
    for channel, pixel in ((1, 1), (3, 345), (12, 345), (15, 20)):
        yield run(f"locate --build {code} --channel {channel} --pixel {pixel} --json",
                  f"{code}/locate-{channel}-{pixel}.json")  # fmt: skip
    yield run(f"locate --build {code} --segment R31-2 --pixel 7")
    yield run(f"audit --build {code}")


def _revised() -> Iterator[dict[str, Any]]:
    """The yard planned again in the middle of the work, most of it kept."""
    yield from _loaded("REVISED", "north-yard")
    form = {"max_segment": "80", "capacity": "480", "outputs": "64", "keep_table": "on", "revision": "1"}
    address = "/b/REVISED/plan/revise/"
    yield post(address, "REVISED/changes.html", **form, do="changes")
    yield post(address, "REVISED/decided.html", **form, do="revise", every="keep", rewired="redo")
    yield from answers("REVISED", "2026-05-16T12:00:00+00:00")


def _asked() -> Iterator[dict[str, Any]]:
    """Forecasts kept, questions put on the screen and answered: documents that later versions have to read."""
    yield post("/b/LANTERN/forecast/what-if/ask/", "", DEMO_LEAD, name="Without Bram", without=["Bram"])
    yield post("/b/LANTERN/forecast/what-it-takes/", "", DEMO_LEAD, percent="80")
    yield run("tend --once")
    yield run("tend --once")


def unpacked(code: str, pack: Path) -> Iterator[dict[str, Any]]:
    """A pack of before taken in: tables, answers, labels and screens, whose ids and labels are now always the same."""
    yield run(f"unpack {pack}")
    yield run(f"pack --build {code} --out again/{code}.zip")
    yield from answers(code, BUILDS.get(code, NOW))
    for name, options in (("sheet", ""), ("strip", "--strip 62x29 --segments 'R12 to R20'")):
        yield run(f"paper labels --build {code} --base http://barn.test:8000 {options} --out {code}/{name}.pdf")
    for page in PAGES:
        yield get(f"/b/{code}/{page}/", f"{code}/pages/{page.replace('/', '-')}.html")
    yield post(f"/b/{code}/forecast/now/", "")  # where the digest of what a forecast follows from has changed
    yield get(f"/b/{code}/forecast/", f"{code}/pages/forecast-again.html")
