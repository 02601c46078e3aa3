"""The workbook recalculated by LibreOffice: every total it reckons must equal the one that was written.

    python benchmarks/long_workbook.py

Takes a minute, and needs `soffice` on the path; without it nothing is checked, and it says so.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

from leyfold.services.paper import paper_of

DEMO = Path(__file__).resolve().parents[1] / "examples" / "demo"
AT = datetime(2027, 5, 12, 9, tzinfo=UTC)


def main() -> int:
    from openpyxl import load_workbook

    office = shutil.which("soffice") or shutil.which("libreoffice")
    if office is None:
        print("not checked: there is no soffice on the path")
        return 0
    with tempfile.TemporaryDirectory() as folder:
        # Written without its cached results, so that what is read back was reckoned by the other program.
        there = Path(folder) / "season.xlsx"
        there.write_bytes(paper_of(DEMO, "workbook", AT).content)
        written = load_workbook(there, data_only=True)
        bare = load_workbook(there)
        bare.save(there)
        back = Path(folder) / "back"
        call = [office, "--headless", "--convert-to", "xlsx", "--outdir", str(back), str(there)]
        subprocess.run(call, check=True, stdout=subprocess.DEVNULL, timeout=300)
        reckoned = load_workbook(back / "season.xlsx", data_only=True)
    wrong = checked = 0
    for page in bare.worksheets:
        for cell in page[2]:
            if isinstance(cell.value, str) and cell.value.startswith("="):
                ours = written[page.title][cell.coordinate].value
                theirs = reckoned[page.title][cell.coordinate].value
                checked += 1
                if theirs is None or abs(ours - theirs) > 1e-9 * max(abs(ours), 1.0):
                    wrong += 1
                    print(f"{page.title}!{cell.coordinate}: written {ours}, reckoned {theirs}")
    print(f"{checked} totals, {wrong} wrong")
    return int(wrong > 0 or checked == 0)


if __name__ == "__main__":
    sys.exit(main())
