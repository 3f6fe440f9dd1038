"""Examples of rules, laid over sound files in a folder of their own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from laid_examples import Laid, lay_in

from slackwater.protocol.rules._rule import Example


@pytest.fixture
def lay(tmp_path: Path) -> Callable[[Example], Laid]:
    return lambda example: lay_in(tmp_path, example)
