"""What Lighthouse says of the round and of the sign-in page, as a phone and as a desk see them.

    npm install --prefix FOLDER --save-exact lighthouse@12.2.3
    python benchmarks/long_lighthouse.py FOLDER [--runs 3] [--keep FOLDER_FOR_THE_REPORTS]

Not one of the project's own packages, and no part of `./x test`: Lighthouse brings 146 packages along, and
its speeds sway with whatever else the machine does. Needs node, Chromium, and the screens built (`./x
serve`). The server is the one farms run, on a copy of the demo farm; the phone is a farmer's, signed in,
that has never been there before: nothing is in its cache. Wanted of each page, as Lighthouse is run as a
rule: performance 0.95, accessibility 1.

`simulated` is that rule: it loads the page at full speed and works out what a phone with a processor four
times slower, on a line of 1.6 Mbit/s and 150 ms, would have needed (a desk: 10 Mbit/s, 40 ms). `slowed` is
shown besides: the browser and the line slowed down as they load. The middle one of the runs counts.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import Any

from playwright.sync_api import sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT / "tests"))

from phones import Server, chromium  # noqa: E402

FLAGS = (
    "--headless=new --no-sandbox --disable-quic --disable-background-networking"
    " --disable-component-update --disable-sync --no-first-run"
)
CATEGORIES = ("performance", "accessibility", "best-practices", "seo")
WANTED = {"performance": 0.95, "accessibility": 1.0}
TIMES = {
    "first-contentful-paint": "first paint",
    "largest-contentful-paint": "largest paint",
    "total-blocking-time": "blocked",
    "speed-index": "speed index",
}
SHIFT = "cumulative-layout-shift"
FORMS = {"phone": [], "desk": ["--preset=desktop"]}
THROTTLES = {"simulated": "simulate", "slowed": "devtools"}


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    asked.add_argument("folder", type=Path, help="where Lighthouse was installed")
    asked.add_argument("--runs", type=int, default=3)
    asked.add_argument("--keep", type=Path, help="a folder for the reports")
    given = asked.parse_args()
    tool = given.folder / "node_modules" / ".bin" / "lighthouse"
    if not tool.exists():
        print(f"No Lighthouse in {given.folder}: npm install --prefix {given.folder} lighthouse@12.2.3")
        return 2
    met = True
    with TemporaryDirectory() as folder:
        server = Server(Path(folder) / "farm").start()
        try:
            signed = Path(folder) / "signed.json"
            signed.write_text(json.dumps({"Cookie": session_of(server)}), encoding="utf-8")
            for page, more in (("the round", [f"--extra-headers={signed}"]), ("the sign-in page", [])):
                for form, preset in FORMS.items():
                    for throttle, method in THROTTLES.items():
                        words = [*more, *preset, f"--throttling-method={method}"]
                        runs = [report(tool, server.base, words) for _ in range(given.runs)]
                        keep(given.keep, f"{page} {form} {throttle}", runs)
                        met &= tell(f"{page}, {form}, {throttle}", runs) or throttle != "simulated"
        finally:
            server.end()
    print("met" if met else "NOT met")
    return 0 if met else 1


def session_of(server: Server) -> str:
    """The cookie of a farmer who came in by the link that the server printed."""
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=chromium())
        context = browser.new_context()
        context.new_page().goto(server.link)
        # The server reads and plans at its first question; that is no part of a page's speed.
        context.request.get(f"{server.base}api/rounds?days=8")
        cookies = "; ".join(f"{one['name']}={one['value']}" for one in context.cookies())
        browser.close()
    return cookies


def report(tool: Path, address: str, words: list[str]) -> dict[str, Any]:
    command = [str(tool), address, "--quiet", "--output=json", f"--chrome-flags={FLAGS}"]
    command += [f"--only-categories={','.join(CATEGORIES)}", *words]
    environment = os.environ | {"CHROME_PATH": chromium()}
    run = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    if run.returncode:
        raise SystemExit(f"Lighthouse failed:\n{run.stderr[-2000:]}")
    made: dict[str, Any] = json.loads(run.stdout)
    return made


def tell(what: str, runs: list[dict[str, Any]]) -> bool:
    """One line of scores and one of times; whether what was wanted is met."""
    scores = {name: median(run["categories"][name]["score"] for run in runs) for name in CATEGORIES}
    spread = [run["categories"]["performance"]["score"] for run in runs]
    print(f"{what}: " + ", ".join(f"{name} {score:.2f}" for name, score in scores.items()))
    times = [f"{said} {value(runs, name) / 1000:.2f} s" for name, said in TIMES.items()]
    print(f"    performance {min(spread):.2f} to {max(spread):.2f}; {', '.join(times)};", end=" ")
    print(f"shift {value(runs, SHIFT):.3f}", flush=True)
    for fault in sorted({fault for run in runs for fault in faults(run)}):
        print(f"    - {fault}")
    return all(scores[name] >= least for name, least in WANTED.items())


def value(runs: list[dict[str, Any]], audit: str) -> float:
    return float(median(run["audits"][audit]["numericValue"] for run in runs))


def faults(run: dict[str, Any]) -> list[str]:
    """What is not as it should be, and is no time."""
    listed = []
    for name in CATEGORIES[1:]:
        for one in run["categories"][name]["auditRefs"]:
            audit = run["audits"][one["id"]]
            if one["weight"] > 0 and audit["score"] is not None and audit["score"] < 1:
                listed.append(f"{name}: {audit['title']}")
    return listed


def keep(folder: Path | None, name: str, runs: list[dict[str, Any]]) -> None:
    if folder is None:
        return
    folder.mkdir(parents=True, exist_ok=True)
    for n, run in enumerate(runs, 1):
        (folder / f"{name} {n}.json".replace(" ", "-")).write_text(json.dumps(run), encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main())
