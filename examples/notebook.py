"""The whole way in Python, from a protocol to an audit, in cells that a notebook editor understands.

The boats and every figure in the examples are invented. Run it as a script, or open it as a notebook
(the lines `# %%` part the cells): there each answer shows itself as a page.
"""

# %% Where the examples lie
from __future__ import annotations

from pathlib import Path

import slackwater

HERE = Path(__file__).parent
WORKBOAT = HERE / "workboat-interceptors"

# %% Can the method work? What is wrong is a list of findings, each with its place and the mend.
checked = slackwater.check(WORKBOAT / "protocol.yaml")
print(checked.summary)

# %% How many sessions does it take, with the noise that an earlier trial showed?
plan = slackwater.plan(
    WORKBOAT / "protocol.yaml",
    quantity="speed",
    effect="3 %",
    power="80 %",
    between="0.6 %",
    within="0.4 %",
    session_by_set_point="0.2 %",
    known_from=12,
    sessions=(3, 5),
    double_runs=(2, 3),
)
print(plan.summary)
print(plan.table[["sessions_per_configuration", "double_runs", "detectable", "power", "hours"]])

# %% Which differences are real?
result = slackwater.analyse(WORKBOAT / "trial.yaml")
print(result)

# %% The same as data: a DataFrame, or one comparison after another.
print(result.comparisons[["quantity", "at", "change", "low", "high", "verdict"]].head(8))
for row in result.compared:
    if row.verdict.established and row.quantity == "economy":
        print(f"{row.quantity} at {row.at}: {row.verdict}, {row.reason}")

# %% What of it may be printed? No more than the audit of the same claims upholds.
statement = slackwater.statement(WORKBOAT / "trial.yaml")
for section in statement.sections[:1]:
    print("\n".join(statement.told(section)))
print(statement.table[["title", "at", "change", "interval"]].head(8))

# %% What is the scatter made of? The block goes into the next protocol.
noise = slackwater.noise(WORKBOAT / "trial.yaml")
print(noise.table)

# %% Does a published figure hold?
audit = slackwater.audit(HERE / "published-article" / "careless.yaml")
print(audit.counts)
print(audit.table[["id", "quantity", "verdict", "why"]])
