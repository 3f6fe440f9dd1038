"""The page beside the text of the same trial: at most twice the time, whatever has been run before.

Whole commands are timed in turn in this run, the fastest of each, since load only ever adds time.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

TRIAL = Path(__file__).parents[2] / "examples" / "workboat-interceptors" / "trial.yaml"
MOST = 2.0
ROUNDS = 2


def _seconds(form: str, caches: Path | None) -> float:
    """Time of the command; with a folder, as if Python had compiled nothing before."""
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    if caches is not None:
        environment |= {"PYTHONPYCACHEPREFIX": str(caches), "MPLCONFIGDIR": str(caches)}
        environment["PYTHONDONTWRITEBYTECODE"] = "1"
    command = [sys.executable, "-m", "slackwater", "analyse", str(TRIAL), "--format", form]
    begin = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True, env=environment)
    return time.perf_counter() - begin


@pytest.mark.parametrize(
    "cold", [False, pytest.param(True, marks=pytest.mark.full)], ids=["warm", "cold"]
)
def test_a_page_takes_at_most_twice_the_time_of_the_text(cold: bool, tmp_path: Path) -> None:
    caches = tmp_path if cold else None
    rounds = 1 if cold else ROUNDS
    _seconds("html", caches)
    times = [(_seconds("html", caches), _seconds("text", caches)) for _ in range(rounds)]
    ratio = min(page for page, _ in times) / min(text for _, text in times)
    assert ratio <= MOST, f"the page took {ratio:.2f} times as long as the text"


def test_no_plotting_library_is_loaded_for_it() -> None:
    code = (
        "import sys, slackwater; slackwater.analyse(sys.argv[1]).to_html(); "
        "sys.exit('matplotlib' in sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code, str(TRIAL)], check=True, timeout=120)
